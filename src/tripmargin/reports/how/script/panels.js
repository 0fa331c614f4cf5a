// Beside the path: the voltage and the current as they run, the plunger, the pawls.

class Panel {
  constructor(title, kind) {
    this.value = make("span", { class: "value" });
    this.note = make("p", { class: "note" });
    this.box = make("div", {});
    this.root = make("figure", { class: "panel", "data-panel": kind },
      make("figcaption", {}, make("span", {}, title), this.value), this.box, this.note);
  }

  /** A fresh drawing, as wide as its box. */
  fresh(high, told) {
    this.wide = Math.max(this.box.clientWidth, 120);
    this.tall = high;
    this.svg = canvas(this.wide, high, told);
    this.box.replaceChildren(this.svg);
  }
}

const ARROW_APART = 14; // px

/** A curve that draws itself over time, between limits. */
class CurvePanel extends Panel {
  build(high, told, { from, to, low, top, levels }) {
    this.fresh(high, told);
    this.x = (t) => 6 + (t - from) / (to - from) * (this.wide - 12);
    this.y = (v) => high - 3 - (Math.min(Math.max(v, low), top) - low) / (top - low) * (high - 6);
    for (const [level, kind, words] of levels) {
      this.svg.append(draw("path", { d: `M0 ${this.y(level)}H${this.wide}`, class: `level ${kind}` }));
      if (words) this.svg.append(draw("text", { x: kind === "limit" && low < 0 ? 3 : this.wide - 3, y: this.y(level) - 4, "text-anchor": low < 0 ? "start" : "end", "font-size": innerWidth < 700 ? 12 : innerWidth < 1600 ? 16 : 20, class: "name" }, words));
    }
    this.side = (v) => v > top ? 1 : v < low ? -1 : 0;
    this.curve = draw("path", { class: "curve" });
    this.beyond = draw("path", { class: "beyond", "data-part": "beyond" });
    this.dot = draw("circle", { r: 4.5, class: "piece" });
    this.svg.append(this.curve, this.beyond, this.dot);
  }

  /** The curve until an instant: broken off where it leaves the frame, with arrowheads after it. */
  run(t, times, values) {
    const now = Math.min(t, times[times.length - 1]), inside = [], outside = [];
    const until = times.map((time, k) => [time, values[k]]).filter(([time]) => time <= t);
    if (t >= times[0]) until.push([now, onCurve(now, times, values)]);
    let piece = null, away = null, last = null;
    for (const [time, value] of until) {
      const point = [this.x(time), this.y(value)], side = this.side(value);
      if (side === 0) {
        if (!piece) inside.push(piece = last ? [last] : []);
        away = null;
      } else if (!away || away.side !== side) outside.push(away = { side, from: point[0] });
      if (piece) piece.push(point);
      if (side !== 0) [piece, away.to] = [null, point[0]];
      last = point;
    }
    change(this.curve, { d: inside.filter((each) => each.length > 1).map((each) => lineThrough(each)).join("") });
    change(this.beyond, { d: outside.map((each) => this.arrowheads(each)).join("") });
    this.dot.toggleAttribute("hidden", !last);
    if (last) change(this.dot, { cx: last[0].toFixed(2), cy: last[1].toFixed(2) });
  }

  /** Arrowheads along the edge of the frame that the curve lies beyond. */
  arrowheads({ side, from, to }) {
    const count = Math.max(Math.floor((to - from) / ARROW_APART), 1), [tip, foot] = side > 0 ? [2, 8] : [this.tall - 2, this.tall - 8];
    return Array.from({ length: count }, (_, k) => from + (k + 0.5) * (to - from) / count)
      .map((x) => lineThrough([[x - 4, foot], [x, tip], [x + 4, foot]])).join("");
  }
}

class VoltagePanel extends CurvePanel {
  constructor() { super(say("Voltage"), "voltage"); }

  rebuild(stop, high) {
    const { voltage } = stop.line;
    this.known = voltage;
    if (!voltage) {
      this.box.replaceChildren();
      this.value.textContent = stop.line.lost ? say("no metal") : say("not known");
      this.note.textContent = stop.line.lost ? say("Nothing passes the sensor, so nothing is told by it.") : say("The file does not give what the sensor sees.");
      return;
    }
    const most = this.most = 4 * voltage.threshold;
    this.build(high, say("The detector's output over time, with the threshold as dashed lines."), {
      from: stop.line.begins, to: voltage.t[voltage.t.length - 1], low: -most, top: most,
      levels: [[0, "zero", ""], [voltage.threshold, "limit", say("threshold")], [-voltage.threshold, "limit", ""]],
    });
    const told = { volts: digits(voltage.threshold, 1), most: digits(most, 0) };
    this.note.textContent = voltage.v.some((v) => Math.abs(v) > most) ? say("Threshold \u00b1{volts} V. Frame \u00b1{most} V; arrowheads: beyond it.", told)
      : say("Threshold \u00b1{volts} V. Height of the picture: \u00b1{most} V.", told);
  }

  show(state) {
    if (!this.known) return;
    this.run(state.t, this.known.t, this.known.v);
    const v = state.voltage;
    this.value.textContent = v === null || state.through ? pieceDoes(state) : Math.abs(v) > this.most ? say("over {volts} V", { volts: digits(this.most, 0) }) : `${digits(v, 2)} V`;
  }
}

class CurrentPanel extends CurvePanel {
  constructor() { super(say("Hold winding"), "current"); }

  rebuild(stop, high) {
    const { current } = stop.line;
    this.known = current;
    if (!current) {
      this.box.replaceChildren();
      this.note.textContent = stop.line.caught ? say("The file does not give how its current dies, so no curve is drawn.") : say("Nothing trips, so it is not cut.");
      return;
    }
    this.from = Math.min(stop.line.opens - 0.004, 0);
    this.build(high, say("The hold winding's current over time, with the current at which the spring wins as a dashed line."), {
      from: this.from, to: current.t[current.t.length - 1], low: 0, top: 1.12 * current.hold,
      levels: [[0, "zero", ""], [current.release, "limit", say("spring wins")]],
    });
    this.times = [this.from, ...current.t];
    this.values = [current.hold, ...current.i];
    this.note.textContent = say("Holds with {hold} A; the spring wins at {release} A.", { hold: digits(current.hold, 2), release: digits(current.release, 2) });
  }

  show(state) {
    if (!this.known) { this.value.textContent = windingDoes(state.winding); return; }
    this.run(state.t, this.times, this.values);
    this.value.textContent = `${digits(state.current, 2)} A`;
  }
}

class PlungerPanel extends Panel {
  constructor() { super(say("Plunger"), "plunger"); }

  rebuild(stop, high) {
    this.fresh(high, say("The plunger in its winding, and the spring that pulls it out."));
    const { travel } = stop.line.plunger, w = this.wide, middle = high / 2, body = 0.4 * w;
    this.travel = travel;
    this.way = 0.26 * w;
    const coil = (y) => draw("rect", { x: 6, y, width: body, height: high * 0.2, class: "coil" });
    this.coils = [coil(middle - high * 0.38), coil(middle + high * 0.18)];
    this.rod = draw("g", { "data-part": "plunger" },
      draw("rect", { x: 12, y: middle - high * 0.13, width: body, height: high * 0.26, class: "rod" }),
      draw("rect", { x: 12 + body, y: middle - high * 0.05, width: 0.16 * w, height: high * 0.1, class: "rod" }));
    this.spring = draw("path", { class: "spring" });
    this.svg.append(...this.coils, this.rod, this.spring);
    this.anchor = w - 5;
    this.end = 12 + body + 0.16 * w;
    this.note.textContent = travel ? say("Its travel: {way}.", { way: inMm(travel) }) : say("The file gives its time, not its travel.");
  }

  show(state, stop) {
    const moved = state.out * this.way, middle = this.tall / 2, high = this.tall * 0.16;
    change(this.rod, { transform: `translate(${moved.toFixed(2)} 0)` });
    const from = this.end + moved, step = (this.anchor - from) / 8, zigzag = [[from, middle]];
    for (let k = 1; k < 8; k++) zigzag.push([from + k * step, middle + (k % 2 ? -high : high)]);
    change(this.spring, { d: lineThrough([...zigzag, [this.anchor, middle]]) });
    const share = stop.line.current ? state.current / stop.line.current.hold : state.fed ? 1 : 0;
    for (const coil of this.coils) change(coil, { "fill-opacity": (0.75 * share).toFixed(3) });
    this.value.textContent = state.plunger === "falls" && this.travel ? inMm(state.out * this.travel) : plungerDoes(state.plunger);
  }
}

const TIP = 25, DEEP = 7, PIVOT = [32, -38], LIFTED = 15, PAWL_WIDE = 74, PAWL_HIGH = 82;

class PawlsPanel extends Panel {
  constructor(scenery) {
    super(say("Pawls"), "pawls");
    this.scenery = scenery;
  }

  rebuild(stop, high) {
    this.fresh(high, say("The pawls and their ratchets."));
    const count = stop.line.pawls.length, scale = Math.min(this.wide / (PAWL_WIDE * count), high / PAWL_HIGH);
    const spare = (this.wide - scale * PAWL_WIDE * count) / 2;
    this.drawn = stop.line.pawls.map((pawl, k) => this.one(pawl, `translate(${spare + k * scale * PAWL_WIDE} 0) scale(${scale})`));
    const gaps = stop.line.pawls.filter((each) => each.gap !== null).map((each) => `${each.called} ${inMm(each.gap)}`);
    this.note.textContent = gaps.length ? say("Gaps: {gaps}.", { gaps: gaps.join(", ") }) : say("The file does not give their gaps.");
  }

  one(pawl, transform) {
    const found = this.scenery.pawls.find((each) => each.name === pawl.name) || { teeth: 12, ratio: 1, known: false };
    const root = TIP - Math.min(DEEP, 0.6 * 2 * Math.PI * TIP / found.teeth), points = [];
    for (let k = 0; k < found.teeth; k++) {
      for (const r of [root, TIP]) {
        const angle = -Math.PI / 2 + 2 * Math.PI * k / found.teeth;
        points.push([r * Math.cos(angle), r * Math.sin(angle)]);
      }
    }
    const wheel = draw("g", { "data-part": `ratchet ${pawl.name}` },
      draw("path", { d: lineThrough(points, true), class: found.known ? "outline" : "outline guessed" }),
      draw("path", { d: `M0 0V${-root + 4}`, class: "flute first" }));
    const along = [-PIVOT[0], -root - PIVOT[1]], long = Math.hypot(...along);
    let across = [along[1] / long, -along[0] / long];
    if (across[1] > 0) across = [-across[0], -across[1]];
    const at = (part, by) => [part * along[0] + by * across[0], part * along[1] + by * across[1]];
    const arm = draw("g", { "data-part": `pawl ${pawl.name}` },
      draw("path", { d: lineThrough([at(1, 0), at(1, 4.5), at(0, 6), at(0, -3)], true), class: "arm" }));
    const over = Math.asin((TIP - root) / Math.hypot(PIVOT[0], PIVOT[1] + root)) * 180 / Math.PI;
    this.svg.append(draw("g", { transform },
      draw("g", { transform: `translate(${TIP + 3} ${PAWL_HIGH - TIP - 6})` }, wheel,
        draw("g", { transform: `translate(${PIVOT.join(" ")})` }, arm, draw("circle", { r: 4, class: "pin" })))));
    return { pawl, found, wheel, arm, over };
  }

  show(state, stop) {
    const turn = (t) => stop.surface(t) / this.scenery.radius;
    this.drawn.forEach(({ pawl, found, wheel, arm, over }, k) => {
      const { caught, ends } = pawl, now = state.pawls[k];
      const until = caught === null ? state.t : Math.min(state.t, caught);
      const angle = found.ratio * (turn(until) - (caught === null ? 0 : turn(caught)));
      change(wheel, { transform: `rotate(${(angle * 180 / Math.PI).toFixed(2)})` });
      const pitches = caught === null ? 0 : (turn(caught) - turn(ends)) * found.ratio * found.teeth / (2 * Math.PI);
      const lifted = over + LIFTED, touches = over * Math.min(Math.max(pitches, 0), 1);
      let stands = lifted + (touches - lifted) * now.swung;
      if (now.doing === "waits for a tooth") stands = touches * (1 - (state.t - ends) / Math.max(caught - ends, 1e-9));
      if (now.doing === "caught") stands = 0;
      change(arm, { transform: `rotate(${stands.toFixed(2)})` });
    });
    this.value.textContent = pawlsDo(state, true);
  }
}
