// Two feeds on one clock: what is picked, and below it the machine as it is.

/** When the piece is above the sensor's axis; without power both clocks begin at the cut. */
const overAxis = (line) => line.lost ? 0 : -line.start / line.speed;

/** Whether metal comes to rest before the knives. */
const isSaved = (line) => line.caught && line.margin !== null && line.margin >= 0;

class Beside {
  constructor(data, reach, changed) {
    this.words = data.words;
    this.variants = data.variants;
    this.on = "before" in data.variants;
    this.path = new PathView(data.scenery, reach, "-below");
    this.caption = make("p", { class: "caption" });
    this.verdict = make("p", { class: "verdict", "aria-live": "polite" });
    this.above = make("p", { class: "caption" }, this.words.above);
    this.root = make("div", { class: "below" }, this.caption, this.path.root, this.verdict);
    this.hint = make("p", { class: "soft" });
    const choices = [{ value: "alone", words: this.words.alone }, { value: "beside", words: this.words.beside }];
    this.choice = plates("beside", this.words.title, choices, this.on ? "beside" : "alone",
      (value) => { this.on = value === "beside"; changed(); }, this.words.note);
    this.choice.append(this.hint);
  }

  /** Take up the feed below; none where what is picked is the machine as it is. */
  take(shown, happens, line) {
    const id = shown !== "base" ? "base" : "before" in this.variants ? "before" : null;
    this.stop = this.on && id !== null ? new Stop(this.variants[id][happens]) : null;
    this.hint.textContent = this.on && !this.stop ? this.words.pick : "";
    for (const part of [this.root, this.above]) part.toggleAttribute("hidden", !this.stop);
    if (!this.stop) return;
    this.caption.textContent = id === "before" ? this.words.below_file : this.words.below;
    this.shift = overAxis(line) - overAxis(this.stop.line);
    this.line = line;
  }

  get begins() { return this.stop ? this.stop.line.begins + this.shift : Infinity; }
  get ends() { return this.stop ? this.stop.line.ends + this.shift : -Infinity; }

  build(width, most) { if (this.stop) this.path.build(width, true, most); }

  show(t, over) {
    if (!this.stop) return;
    this.path.show(this.stop, this.stop.at(t - this.shift));
    const said = over && !this.line.lost ? this.who() : "";
    if (this.verdict.textContent !== said) this.verdict.textContent = said;
  }

  /** Who wins, and by how much. */
  who() {
    const { words, line } = this, other = this.stop.line;
    if (isSaved(line) !== isSaved(other)) return isSaved(line) ? words.only_above : words.only_below;
    if (!isSaved(line)) return words.neither;
    const more = line.margin - other.margin, gap = inMm(Math.abs(more));
    if (Math.abs(more) < 5e-5) return words.same;
    return (more > 0 ? words.more : words.less).replace("{gap}", gap);
  }
}
