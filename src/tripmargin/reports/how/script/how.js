// The page: one clock, played, moved along, or stepped from instant to instant.

const SLOW = [["5", "1/5"], ["20", "1/20"], ["100", "1/100"]];
const LEAST_WIDE = 280, LEAST_HIGH = 112, LEAST_PANEL = 72, LEAST_ON_A_PHONE = 40; // px, of a drawing
const STEP = 1e-3, FINE = 1e-4; // s, of the arrow keys

/** What happens at an instant, and what it brings. */
const storyOf = ({ title, then }) => `${title}. ${then}`;

class How {
  constructor(data, page) {
    this.data = data;
    this.shown = "base";
    this.happens = "metal";
    this.slow = 20;
    this.playing = false;
    this.pointed = false; // whether what has the focus was picked by pointer, and not by keys
    const reach = this.reach();
    this.path = new PathView(data.scenery, reach);
    this.beside = new Beside(data, reach, () => this.take());
    this.panels = [new VoltagePanel(), new CurrentPanel(), new PlungerPanel(), new PawlsPanel(data.scenery)];
    this.lay(page);
    this.take();
    addEventListener("resize", () => this.rebuild());
    document.addEventListener("keydown", (event) => this.key(event));
    document.addEventListener("pointerdown", () => { this.pointed = true; }, true);
  }

  /** How much of the path all timelines need, m. */
  reach() {
    const { bar } = this.data.scenery, lefts = [-0.05], rights = [bar[2] + 0.12];
    for (const each of Object.values(this.data.variants)) {
      for (const line of [each.metal, each.lost]) {
        const stop = new Stop(line);
        lefts.push(stop.place(line.begins));
        if (line.place !== null) rights.push(line.place + 0.03);
      }
    }
    return [Math.min(...lefts) - 0.02, Math.min(Math.max(...rights), bar[2] + 0.3)];
  }

  lay(page) {
    const { data } = this;
    document.getElementById("no-script").remove();
    const button = (words, name, then) => make("button", { type: "button", "aria-label": name === words ? null : name, on: { click: then } }, words);
    this.playButton = button(say("Play"), say("Play"), () => this.toggle());
    this.clock = make("output", { id: "clock" });
    this.slider = make("input", { type: "range", id: "when", "aria-label": say("Time since the instant 0"), on: { input: () => { this.stay(); this.go(Number(this.slider.value) * 1e-6); } } });
    this.ticks = make("div", { class: "ticks", "aria-hidden": "true" });
    this.story = make("p", { id: "story", "aria-live": "polite" });
    this.chips = ["trip", "winding", "pawls", "rolls"].map((name) => make("li", { "data-chip": name }));
    this.lead = make("p", { class: "lead" });
    this.result = make("p", { id: "result" });
    this.law = make("p", { class: "law" }, data.law);
    this.odds = make("li", { "data-part": "odds" });
    this.table = make("div", {});
    this.groups = new Map(data.groups.map((group) => [group.name, plates(group.name, group.title,
      group.plates.map(({ id, words }) => ({ value: id, words })), "base", (id) => this.vary(group.name, id), group.note)]));
    this.told = make("div", { class: "told" }, this.story, make("ul", { class: "chips" }, this.chips));
    this.stage = make("div", { class: "stage" },
      make("div", { class: "top" }, this.lead,
        plates("happens", say("What happens"), [{ value: "metal", words: say("Metal comes") }, { value: "lost", words: say("Power lost") }], "metal", (what) => { this.happens = what; this.take(); })),
      this.told, this.law,
      this.beside.above, this.path.root, this.beside.root, make("div", { class: "panels" }, this.panels.map((each) => each.root)),
      this.bar = make("div", { class: "bar" }, make("div", { class: "track" }, this.slider, this.ticks),
        make("div", { class: "keys" }, this.playButton, button("\u2039", say("Instant before"), () => this.leap(-1)),
          button("\u203a", say("Next instant"), () => this.leap(1)), this.clock)));
    const notes = this.list(data.notes);
    notes.prepend(this.odds); // it follows what is picked, so it stands by it
    this.play = make("div", { class: "play" }, this.stage,
      make("section", { class: "side", "aria-label": say("Speed and settings") },
        make("div", { class: "ended" }, this.result, button(say("Play from the start"), say("Play from the start"), () => this.again())),
        plates("slow", say("How fast it plays"), SLOW.map(([value, words]) => ({ value, words: say("{part} of true speed", { part: words }) })), "20", (value) => { this.slow = Number(value); }),
        make("h2", {}, say("What changes with \u2026")),
        make("p", {}, say("One thing is set otherwise at a time; everything else stays as it is. For understanding, not for setting a machine by.")),
        this.beside.choice,
        make("div", { class: "groups" }, ...this.groups.values()),
        make("p", { class: "soft" }, say("The clock counts from the instant at which the signal crosses the threshold, or the supply is cut. Keys: space plays and pauses, the arrows move 1 ms (with shift 0.1 ms), page up and page down go from instant to instant, home and end to the ends.")),
        make("p", {}, button(say("Sun mode: greatest contrast"), say("Sun mode: greatest contrast"), () => document.documentElement.classList.toggle("sun"))),
        make("h2", {}, say("What is shown")), notes));
    page.append(this.play,
      make("h2", {}, say("All instants")), this.table,
      ...(data.unseen.length ? [make("h2", {}, say("What the sensor does not see")), this.list(data.unseen)] : []),
      make("h2", {}, say("When the power is lost")), this.list(data.law ? [data.law, ...data.power] : data.power),
      make("h2", {}, say("What is simplified")), this.list(data.simplified));
  }

  list(lines) { return make("ul", {}, lines.map((line) => make("li", {}, line))); }

  vary(name, id) {
    for (const [other, group] of this.groups) if (other !== name) pick(group, "base");
    this.shown = id;
    this.take();
  }

  /** Take up the timeline that is picked, from its beginning. */
  take() {
    this.stay();
    const { variants } = this.data, chosen = variants[this.shown];
    this.stop = new Stop(chosen[this.happens]);
    const { line } = this.stop, base = variants.base[this.happens];
    this.beside.take(this.shown, this.happens, line);
    this.begins = Math.min(line.begins, this.beside.begins);
    this.ends = Math.max(line.ends, this.beside.ends);
    change(this.slider, { min: Math.round(this.begins * 1e6), max: Math.round(this.ends * 1e6), step: 1 });
    this.lead.textContent = line.lead;
    this.result.textContent = chosen === variants.base ? line.result : [line.result, say("As it is: {result}", { result: base.result })].join(" ");
    this.odds.textContent = line.lost ? "" : chosen.odds;
    this.odds.toggleAttribute("hidden", !this.odds.textContent);
    this.law.toggleAttribute("hidden", !line.lost || line.stands === null || !this.data.law);
    const drawn = this.shown === "best" || this.shown === "worst";
    this.table.replaceChildren(instantsTable(this.stop), sourcesList(this.stop, { ...variants.base.sources, ...chosen.sources }, drawn));
    this.t = this.begins;
    this.rebuild();
  }

  rebuild() {
    // In a window that is not shown nothing has a width; it is drawn anew once there is one.
    const high = innerWidth < 700 ? 56 : innerWidth < 1600 ? 128 : 150;
    this.draw(high);
    const { line } = this.stop, long = Math.max(this.slider.clientWidth, LEAST_WIDE), knob = 28;
    const svg = draw("svg", { width: long, height: 12, viewBox: `0 0 ${long} 12` }, line.instants.map((each) => {
      const x = knob / 2 + (each.t - this.begins) / (this.ends - this.begins) * (long - knob);
      return draw("path", { d: `M${x.toFixed(1)} 0V12`, class: "tick" });
    }));
    this.ticks.replaceChildren(svg);
    this.go(this.t);
    const two = this.beside.stop !== null, small = innerWidth < 700;
    const hidden = small && two ? 0 : this.underTheBar();
    if (hidden <= 0) return;
    // First the path gives way, then the panels.
    const paths = two ? 2 : 1, spare = paths * Math.max(this.path.tall - LEAST_HIGH, 0);
    const [rows, least] = small ? [2, LEAST_ON_A_PHONE] : [1, LEAST_PANEL];
    const lower = Math.max(high - Math.max(hidden - spare, 0) / rows, least);
    this.draw(lower, Math.max(this.path.tall - Math.min(hidden, spare) / paths, LEAST_HIGH));
    this.go(this.t);
  }

  /** The drawings: panels so many px high, a path at most so many. */
  draw(high, most = Infinity) {
    const wide = Math.max(this.path.root.clientWidth, LEAST_WIDE);
    this.path.build(wide, this.beside.stop !== null, most);
    this.beside.build(wide, most);
    for (const panel of this.panels) panel.rebuild(this.stop, high);
  }

  /** Whether the settings stand beside the drawings. */
  get abreast() { return getComputedStyle(this.play).display === "grid"; }

  /** How much of the panels the bar would cover on the first screen, at the instant with the longest
   * story, px. */
  underTheBar() {
    const told = this.story.textContent, high = this.told.offsetHeight;
    const heights = this.stop.line.instants.map((each) => { this.story.textContent = storyOf(each); return this.told.offsetHeight; });
    this.story.textContent = told;
    const place = (element) => element.getBoundingClientRect();
    let lowest = Math.max(...this.panels.map((each) => place(each.root).bottom)) + scrollY;
    // Beside the settings the drawings stay while those scroll: from where they stand at first.
    if (this.abreast) lowest += place(this.play).top - place(this.stage).top;
    return Math.ceil(lowest + Math.max(...heights) - high + this.bar.offsetHeight - innerHeight);
  }

  go(t) {
    this.t = Math.min(Math.max(t, this.begins), this.ends);
    const state = this.state = this.stop.at(this.t);
    this.slider.value = String(Math.round(this.t * 1e6));
    const words = inMs(this.t);
    this.slider.setAttribute("aria-valuetext", `${words}: ${state.instant.title}`);
    this.clock.textContent = words;
    const story = storyOf(state.instant);
    if (this.story.textContent !== story) this.story.textContent = story;
    const does = pawlsDo(state), pawls = state.pawls.length === 1 ? say("Pawl {does}", { does }) : say("Pawls {does}", { does });
    const chips = [[state.tripped ? say("Trip latched") : say("Trip not latched"), state.tripped], [windingSaid(state.winding), state.winding !== "holds"],
      [pawls, state.pawls.every((each) => each.doing === "caught")], [rollsSaid(state.rolls), state.rolls === "stand"]];
    chips.forEach(([text, on], k) => { this.chips[k].textContent = text; this.chips[k].classList.toggle("on", on); });
    this.path.show(this.stop, state);
    this.beside.show(this.t, this.t >= this.ends - NOW);
    for (const panel of this.panels) panel.show(state, this.stop);
  }

  /** To the next instant, or the one before. */
  leap(way) {
    this.stay();
    const times = this.stop.line.instants.map((each) => each.t);
    const found = way > 0 ? times.find((t) => t > this.t + NOW) : times.filter((t) => t < this.t - NOW).pop();
    this.go(found === undefined ? (way > 0 ? this.ends : this.begins) : found);
  }

  toggle() {
    if (this.playing) { this.stay(); return; }
    if (this.t >= this.ends - NOW) this.go(this.begins);
    this.playing = true;
    this.playButton.textContent = say("Pause");
    this.story.setAttribute("aria-live", "off");
    let before = null;
    const step = (now) => {
      if (!this.playing) return;
      if (before !== null) this.go(this.t + (now - before) / 1000 / this.slow);
      before = now;
      if (this.t >= this.ends) this.stay();
      else requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  }

  /** From the beginning, with the picture in sight. */
  again() {
    if (!this.abreast) scrollTo(0, 0);
    this.go(this.begins);
    if (!this.playing) this.toggle();
    this.playButton.focus({ preventScroll: true });
  }

  stay() {
    this.playing = false;
    this.playButton.textContent = say("Play");
    this.story.setAttribute("aria-live", "polite");
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "Tab") this.pointed = false;
    // What was picked by pointer leaves the keys to the clock; who came by keys still picks with them.
    const target = event.target, radio = target.matches("input[type=radio]") && !this.pointed;
    const step = event.shiftKey ? FINE : STEP;
    const keys = {
      ArrowLeft: () => this.moved(-step), ArrowRight: () => this.moved(step),
      ...(target === this.slider ? { ArrowDown: () => this.moved(-step), ArrowUp: () => this.moved(step) } : {}),
      ...(radio || target.matches("button, summary") ? {} : { " ": () => this.toggle() }),
      PageUp: () => this.leap(-1), PageDown: () => this.leap(1),
      Home: () => { this.stay(); this.go(this.begins); }, End: () => { this.stay(); this.go(this.ends); },
    };
    if (!keys[event.key] || (radio && event.key.startsWith("Arrow")) || target.matches(".table")) return;
    event.preventDefault();
    keys[event.key]();
  }

  moved(by) { this.stay(); this.go(this.t + by); }
}

document.addEventListener("DOMContentLoaded", () => {
  const data = JSON.parse(document.getElementById("how-data").textContent);
  inches = data.us;
  document.documentElement.classList.toggle("sun", data.sun);
  globalThis.theHow = new How(data, document.getElementById("page"));
});
