// The feed path in side view: rolls, sensor, flux lines, crop, shear bar, and the piece on its way.

const FLUTES = 24;

class PathView {
  constructor(scenery, reach, suffix = "") {
    this.suffix = suffix; // of the names of hatchings, where two paths stand in a page
    this.scenery = scenery;
    this.reach = reach; // [left, right] m that every variant needs
    this.root = make("figure", { class: "path" });
  }

  /** Draw it afresh, at most so many px high; lower where two stand one below the other. */
  build(width, lower = false, most = Infinity) {
    const { scenery } = this, r = scenery.radius, small = width < 700;
    const [share, least] = lower ? [0.24, !small ? 170 : innerHeight < 640 ? 84 : 120] : [0.38, small ? 150 : 210];
    this.size = small ? 13 : width < 1400 ? 19 : 24;
    const [low, high] = this.extent();
    let [left, right] = this.reach;
    const tall = Math.min(Math.max(Math.min((high - low) * width / (right - left), innerHeight * share), least), most);
    this.scale = Math.min(width / (right - left), tall / (high - low));
    const spare = width / this.scale - (right - left);
    left -= spare / 2;
    const centre = (low + high) / 2, half = tall / this.scale / 2;
    this.x = (place) => (place - left) * this.scale;
    this.y = (height) => (centre + half - height) * this.scale;
    this.wide = width;
    this.tall = tall;
    const told = say("The feed path from the side: crop and metal come from the left over the sensor in the lower roll, towards the shear bar and the knives on the right.");
    const svg = canvas(width, tall, told);
    svg.append(draw("defs", {}, hatch(`crop-dots${this.suffix}`, "dots"), hatch(`magnet-lines${this.suffix}`, "lines")));
    this.crop(svg);
    this.flux = scenery.flux.map(() => draw("path", { class: "flux" }));
    svg.append(draw("g", { "data-part": "flux lines" }, this.flux));
    this.lower = this.roll(svg, 0, scenery.radius_known, "lower roll");
    this.upper = this.roll(svg, 2 * r + scenery.crop, false, "upper roll");
    this.sensor(svg);
    this.knives(svg);
    this.moving(svg);
    this.names(svg);
    this.root.replaceChildren(svg);
  }

  /** From under the sensor to a strip of the upper roll, m. */
  extent() {
    const { radius: r, crop, blocks, rotation } = this.scenery, turn = rotation * Math.PI / 180;
    const low = blocks.map((b) => b.y * Math.sin(turn) + b.z * Math.cos(turn) - b.high);
    return [low.length ? Math.min(Math.max(Math.min(...low), -1.02 * r), 0.6 * r) - 0.012 : 0.4 * r, r + crop + 0.28 * r];
  }

  crop(svg) {
    const { scenery } = this, top = this.y(scenery.radius + scenery.crop), floor = this.y(scenery.radius);
    const end = this.x(scenery.bar[0]), kind = scenery.crop_known ? "edge" : "edge guessed";
    svg.append(draw("rect", { x: 0, y: top, width: end, height: floor - top, fill: `url(#crop-dots${this.suffix})` }),
      ...[top, floor].map((y) => draw("path", { d: `M0 ${y}H${end}`, class: kind })));
  }

  roll(svg, height, known, name) {
    const r = this.scenery.radius * this.scale, flutes = [];
    for (let k = 0; k < FLUTES; k++) {
      const a = 2 * Math.PI * k / FLUTES, inner = k % 6 ? 0.94 : 0.84;
      flutes.push(draw("path", { class: k % 6 ? "flute" : "flute first",
        d: lineThrough([[inner * r * Math.sin(a), -inner * r * Math.cos(a)], [0.99 * r * Math.sin(a), -0.99 * r * Math.cos(a)]]) }));
    }
    const turned = draw("g", { "data-part": `${name} turning` }, flutes);
    svg.append(draw("g", { transform: `translate(${this.x(0)} ${this.y(height)})` },
      draw("circle", { r, class: known ? "outline" : "outline guessed", "data-part": name }), turned));
    return turned;
  }

  sensor(svg) {
    const s = this.scale, group = draw("g", { "data-part": "sensor",
      transform: `translate(${this.x(0)} ${this.y(0)}) rotate(${-this.scenery.rotation})` });
    for (const block of this.scenery.blocks) {
      const box = { x: (block.y - block.wide / 2) * s, y: -(block.z + block.high / 2) * s, width: block.wide * s, height: block.high * s };
      group.append(draw("rect", { ...box, class: `block ${block.kind}${this.scenery.under ? "" : " guessed"}` }));
      if (block.kind === "magnet" && this.scenery.under) group.append(draw("rect", { ...box, class: "lines", fill: `url(#magnet-lines${this.suffix})` }));
      if (block.kind === "winding") {
        const { x, y, width: w, height: h } = box;
        group.append(draw("path", { class: "cross", d: `M${x} ${y}l${w} ${h}M${x} ${y + h}l${w} ${-h}` }));
      }
    }
    svg.append(group);
  }

  knives(svg) {
    const { scenery } = this, x = this.x(scenery.bar[0]), y = this.y(scenery.radius), deep = Math.max(0.3 * scenery.radius * this.scale, 12);
    const r = 1.25 * scenery.radius * this.scale;
    svg.append(
      draw("circle", { cx: x + r, cy: y, r, class: "outline guessed", "data-part": "cutterhead" }),
      draw("path", { d: `M${x} ${y}v${deep}h${-1.6 * deep}Z`, class: "body" }),
      draw("path", { d: `M${x} ${y + 5}V${this.y(scenery.radius + scenery.crop)}`, class: "edge-of-bar", "data-part": "shear bar" }));
  }

  moving(svg) {
    const { scenery } = this, r = Math.max((scenery.ball || 0.012) * this.scale / 2, 4.5);
    this.level = this.y(scenery.radius + scenery.level);
    this.trail = draw("path", { class: "trail" });
    this.ring = draw("circle", { r: r + 5, class: "ring", "data-part": "crossing" });
    this.piece = draw("circle", { r, class: "piece", "data-part": "piece" });
    this.mark = draw("path", { d: `M${-r} ${-r}L${r} ${r}M${-r} ${r}L${r} ${-r}`, class: "mark", "data-part": "mark" });
    this.moved = draw("g", {}, this.piece, this.mark);
    this.hereLine = draw("path", { class: "here" });
    this.hereWords = draw("text", { class: "loud", "font-size": this.size * 1.35, "text-anchor": "middle" });
    this.left = draw("text", { class: "loud", "font-size": this.size, "text-anchor": "middle" });
    this.here = draw("g", { "data-part": "here" }, this.hereLine, this.hereWords, this.left);
    svg.append(this.trail, this.ring, this.moved, this.here);
  }

  names(svg) {
    const { scenery, size } = this, floor = this.y(scenery.radius);
    const word = (x, y, text, anchor) => svg.append(draw("text", { x, y, "font-size": size, "text-anchor": anchor || "middle", class: "name" }, text));
    const bar = this.x(scenery.bar[0]);
    word(10, floor - size * 0.4, say("crop") + " \u2192", "start");
    if (this.tall < 8.3 * size) return; // what is measured there stands in their place
    const roll = !scenery.blocks.length ? say("lower roll") : this.wide < 700 ? say("sensor") : say("sensor in the lower roll");
    const edge = say("shear bar"), letter = 0.55 * size, half = roll.length * letter / 2; // of a letter of middling width
    word(Math.min(this.x(0), bar - 6 - (edge.length + 1) * letter - half), this.tall - size * 0.5, roll);
    word(bar - 6, this.tall - size * 0.5, edge, "end");
    word(Math.min(bar + 0.06 * this.scale + 20, this.wide - size * 2), this.tall - size * 0.5, say("knives"));
  }

  /** Show a stop at an instant. */
  show(stop, state) {
    const { line } = stop, r = this.scenery.radius, angle = stop.surface(state.t) / r * 180 / Math.PI;
    const x = this.x(state.place), first = this.x(stop.place(line.begins));
    change(this.lower, { transform: `rotate(${angle.toFixed(2)})` });
    change(this.upper, { transform: `rotate(${(-angle).toFixed(2)})` });
    change(this.moved, { transform: `translate(${x.toFixed(2)} ${this.level.toFixed(2)})` });
    change(this.trail, { d: `M${first.toFixed(2)} ${this.level.toFixed(2)}H${x.toFixed(2)}` });
    this.piece.toggleAttribute("hidden", line.lost);
    this.mark.toggleAttribute("hidden", !line.lost);
    this.ring.toggleAttribute("hidden", line.lost || !line.caught || state.t + NOW < 0);
    change(this.ring, { cx: this.x(line.start).toFixed(2), cy: this.level.toFixed(2) });
    this.bend(line.lost ? null : [state.place, r + this.scenery.level]);
    this.ending(stop, state, x);
  }

  /** Flux lines, drawn towards the piece where it is near. */
  bend(piece) {
    const far = Math.max(1.6 * (this.scenery.ball || 0.02), 0.026);
    this.scenery.flux.forEach(([ys, zs], k) => {
      const points = ys.map((y, j) => {
        if (!piece) return [this.x(y), this.y(zs[j])];
        const [across, up] = [piece[0] - y, piece[1] - zs[j]];
        const pull = 0.62 * Math.exp(-(across * across + up * up) / (2 * far * far));
        return [this.x(y + pull * across), this.y(zs[j] + pull * up)];
      });
      change(this.flux[k], { d: lineThrough(points) });
    });
  }

  /** Where it stands, and how far that is from the shear bar. */
  ending(stop, state, x) {
    const { line } = stop, ends = state.rolls === "stand";
    this.here.toggleAttribute("hidden", !ends);
    this.here.classList.toggle("through", line.margin !== null && line.margin < 0);
    if (!ends) return;
    const size = this.size, bar = this.x(this.scenery.bar[0]), top = this.y(this.scenery.radius + this.scenery.crop);
    const words = line.lost ? say("the feed stands") : line.margin < 0 ? say("TOO LATE") : say("HERE"), half = words.length * size * 0.45;
    this.hereWords.textContent = words;
    const at = Math.min(Math.max(x, half), this.wide - half), y = Math.max(top - 6, size * 1.3);
    change(this.hereWords, { x: at, y });
    const gap = line.lost || line.margin === null ? "" : line.margin < 0
      ? say("{gap} past the shear bar", { gap: inMm(-line.margin) }) : say("{gap} to spare", { gap: inMm(line.margin) });
    this.left.textContent = gap;
    const low = this.y(this.scenery.radius) + size * 1.6, wide = gap.length * size * 0.27;
    const middle = Math.min(Math.max((x + bar) / 2, wide), this.wide - wide);
    change(this.left, { x: middle, y: low });
    const dimension = gap ? `M${x} ${low - size * 1.15}H${bar}` : "";
    change(this.hereLine, { d: `M${x} ${y + 5}V${this.level - 12}${dimension}` });
  }
}
