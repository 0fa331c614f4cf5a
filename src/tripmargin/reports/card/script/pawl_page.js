// Setting the pawls on the phone: what was read, then one step at a time, then one entry to keep.

const PAWL_TYPING = 700; // ms after the last letter: nothing moves under a thumb that types

function pawlPage(root, card) {
  const place = make("div", {});
  put(root, make("h1", {}, say("Set the pawls")), cautionBox(card.data.pawls.words.cautions), place);
  new PawlPage(place, card).draw();
}

class PawlPage {
  constructor(root, card) {
    Object.assign(this, { root, card, data: card.data.pawls, us: card.us, unit: card.us ? "in" : "mm" });
    this.hint = card.us ? say("In inches, such as 0.245; write mm behind it for millimetres.")
      : say("In millimetres, such as 6.2 or 6,2; write in behind it for inches.");
    this.setting = new PawlSetting(this.data, card.us, this.hint);
    const { names } = this.setting, before = card.recall("pawls"), fresh = PawlPage.fresh(names, this.unit);
    this.state = before && String(before.pawls) === String(names) ? before
      : { ...fresh, other: before && !before.kept ? PawlPage.told(before) : "" };
    if (this.state.unit !== this.unit) this.otherUnit();
  }

  /** What stands in a box was typed in the other unit: it is written behind it. */
  otherUnit() {
    const { state } = this;
    for (const texts of [state.texts, state.before || {}, ...state.rounds.map((one) => one.texts)]) {
      for (const name of Object.keys(texts)) {
        if (name !== "turns" && /\d\s*$/.test(texts[name])) texts[name] += ` ${state.unit}`;
      }
    }
    state.unit = this.unit;
  }

  static fresh(pawls, unit) {
    return { pawls, unit, texts: {}, readings: null, rounds: [], best: false, note: "", gauge: null, kept: null };
  }

  static told({ texts, unit, readings, rounds }) {
    const read = [...Object.entries(readings || {}), ...rounds.map((one) => [one.pawl, one.gap])];
    return [...read.map(([name, gap]) => `${PawlWords.place(name)} ${PawlWords.length(gap)}`),
      ...Object.entries(texts).map(([name, text]) => `${name} “${text}” ${unit}`)].join("; ");
  }

  keepState() { this.card.remember("pawls", this.state); }

  draw() {
    this.root.replaceChildren();
    this.boxes = {};
    const { state } = this;
    if (state.other) put(this.root, paragraph(say("What was begun before is of other pawls: {told}.", { told: state.other }), "notice"));
    if (state.kept) return put(this.root, this.keptLines());
    if (state.readings) {
      try {
        return put(this.root, this.working(this.setting.going(state.readings, state.rounds, state.best)));
      } catch (error) { // the card was made anew meanwhile, and its file says otherwise
        return put(this.root, paragraph(error.message, "notice"),
          make("div", { class: "buttons" }, button(say("Back one step"), () => this.back(), "second")));
      }
    }
    put(this.root, this.asking());
  }

  next() {
    this.keepState();
    this.draw();
    const heading = this.root.querySelector("h2");
    heading.tabIndex = -1; // who hears the page goes on from there
    heading.focus({ preventScroll: true });
    scrollTo(0, 0);
  }

  // What is typed.

  /** One box; its text is kept as it is typed, and read back as it was taken. */
  box(key, label, { unit, help, typed }) {
    const { texts } = this.state, id = `pawl-${Object.keys(this.boxes).length}`;
    const back = make("p", { class: "help", role: "status" }), trouble = make("p", { class: "trouble", role: "alert" });
    let timer = 0;
    const input = make("input", { id, autocomplete: "off", inputmode: "decimal", maxlength: 40, on: { input: () => {
      texts[key] = input.value;
      this.keepState();
      clearTimeout(timer);
      timer = setTimeout(readBack, PAWL_TYPING);
    } } });
    const readBack = () => { const taken = this.taken(input.value); back.textContent = key === "turns" || taken === null ? "" : say("Taken as {value}", { value: PawlWords.length(taken, this.us) }); };
    input.value = texts[key] ?? typed ?? "";
    readBack();
    const element = make("div", { class: "field" }, make("label", { for: id }, label),
      make("div", { class: "with-unit" }, input, make("span", { class: "unit" }, unit)),
      help ? paragraph(help, "help") : null, back, trouble);
    this.boxes[key] = { element, input, trouble };
    return element;
  }

  /** A length as typed, m; null where it is none. */
  taken(text) {
    const found = /^([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(mm|in)?$/i.exec(text.trim());
    if (!found) return null;
    const unit = (found[2] || this.unit).toLowerCase();
    return Number((Number(found[1].replace(",", ".")) * (unit === "in" ? PAWL_INCH : 1e-3)).toPrecision(12));
  }

  /** The gap in a box, m; throws PawlRefusal. */
  gapIn(key, pawl) {
    const text = this.boxes[key].input.value.trim(), gap = this.taken(text), { gap_m: [, most] } = this.data.log;
    const { allowed } = this.data.words.refusals;
    if (!text) throw new PawlRefusal([pawl], "", say("not measured yet"), allowed, this.hint);
    if (gap === null) throw new PawlRefusal([pawl], `“${text}”`, say("not a number"), allowed, this.hint);
    this.setting.requireGap(pawl, gap);
    if (gap > most) {
      throw new PawlRefusal([pawl], PawlWords.length(gap, this.us), say("wider than the log takes"),
        say("at most {gap}", { gap: PawlWords.length(most, this.us) }), this.hint);
    }
    return gap;
  }

  turnsIn(told) {
    const { input } = this.boxes.turns, text = input.value.trim(), [, most] = this.data.log.turns;
    if (text.replace(",", ".") === PawlWords.general(Math.abs(told), 3)) return told;
    const turns = /^\d+([.,]\d+)?$/.test(text) ? Number(text.replace(",", ".")) : NaN;
    if (turns <= most) return turns === 0 ? null : Math.sign(told) * turns;
    throw new Error([say("turns = “{seen}”: not a number of turns.", { seen: text }), say("Allowed: from 0 to {most}, the way that was told.", { most }),
      say("Such as 1.5; 0 if it was not turned.")].join("\n"));
  }

  /** Say a refusal beside the boxes that it is about. */
  tellTrouble(keys, error) {
    for (const [key, { element, trouble }] of Object.entries(this.boxes)) {
      element.classList.toggle("wrong", keys.includes(key));
      trouble.textContent = key === keys[0] ? error.message.replace(/^./, (first) => first.toUpperCase()) : "";
    }
    this.boxes[keys[0]].input.focus();
    this.boxes[keys[0]].element.scrollIntoView({ block: "center" });
  }

  // The gaps of all pawls, first.

  asking() {
    const { names } = this.setting, step = PawlWords.length(this.data.feeler_step_m, this.us);
    return [make("h2", { class: "do" }, names.length > 1 ? say("Measure every gap first.") : say("Measure the gap.")),
      paragraph(say("Engine off, key out, everything at rest; with a block hold each pawl where it is when the feed runs.")),
      names.map((name) => this.box(name, say("Gap of the {pawl} pawl", { pawl: PawlWords.place(name) }), { unit: PawlWords.unit(this.us) })),
      make("div", { class: "buttons" }, button(say("What is to be done?"), () => this.begin())),
      paragraph(say("Reckoned for a feeler gauge in steps of {step}.", { step }), "soft"), this.why()];
  }

  begin() {
    const readings = {};
    try {
      for (const name of this.setting.names) readings[name] = this.gapIn(name, name);
      this.setting.going(readings, []);
    } catch (error) {
      if (!(error instanceof PawlRefusal)) throw error;
      return this.tellTrouble(error.pawls, error);
    }
    Object.assign(this.state, { readings, texts: {}, before: this.state.texts });
    this.next();
  }

  // One step at a time.

  working({ known, plan, work }) {
    const done = work.do === "done", { rounds } = this.state, last = rounds[rounds.length - 1];
    return [last ? this.asExpected(last) : null, pawlDrawing(this.setting, known),
      done ? this.ended(known, plan) : this.step(work),
      make("div", { class: "buttons" }, button(say("Back one step"), () => this.back(), "second"),
        done ? null : button(say("Stop here and keep what was read"), () => this.keep(known), "quiet")),
      pawlGapTable(this.setting, known),
      pawlStopTable(this.data, Math.max(...known.map((one) => one.gap)), this.us), this.why()];
  }

  asExpected({ pawl, gap, expect }) {
    const values = { pawl: PawlWords.place(pawl), gap: PawlWords.length(gap, this.us), expect: PawlWords.between(expect, this.us) };
    if (gap >= expect[0] && gap <= expect[1]) return paragraph(say("Taken. The {pawl} pawl: read {gap}, expected {expect}.", values), "soft");
    return paragraph(say("The {pawl} pawl: read {gap}, expected {expect}. Was it the right gap, and the right way? The next step reckons with it as read.", values), "notice");
  }

  step(work) {
    const each = this.setting.pawls[this.setting.number(work.pawl)], turns = work.do === "turn" ? work.steps[0].turns : null;
    const told = turns === null ? "" : PawlWords.turns(turns, each.smallest_turn);
    return make("section", { class: "card" },
      work.steps.map(({ words }) => make("h2", { class: "do" }, words)),
      make("h2", { class: "do" }, PawlWords.expect(work.pawl, work.expect, true, this.us)),
      turns === null ? null : this.box("turns", say("Clevis turned by"), { unit: say("turns"), typed: withSign(PawlWords.general(Math.abs(turns), 3)),
        help: say("Told: {turns}. Change it if you turned more or less; 0 if you did not.", { turns: told }) }),
      this.box("gap", say("Gap of the {pawl} pawl now", { pawl: PawlWords.place(work.pawl) }), { unit: PawlWords.unit(this.us) }),
      make("div", { class: "buttons" }, button(say("Take the reading"), () => this.take(work, turns))));
  }

  take({ pawl, do: what, expect }, told) {
    const { state } = this;
    let key = "gap";
    try {
      const gap = this.gapIn("gap", pawl);
      key = "turns";
      const turns = told === null ? null : this.turnsIn(told);
      key = "gap";
      const round = { pawl, gap, turns, placed: what === "place", expect, texts: { ...state.texts } };
      this.setting.going(state.readings, [...state.rounds, round], state.best);
      state.rounds.push(round);
    } catch (error) {
      return this.tellTrouble([key], error);
    }
    state.texts = {};
    this.next();
  }

  back() {
    const { state } = this, wasBest = state.best && state.rounds.length <= state.bestFrom;
    const last = wasBest ? null : state.rounds.pop();
    if (wasBest) state.best = false;
    else if (last) state.texts = last.texts;
    else Object.assign(state, { readings: null, texts: state.before || {} });
    this.next();
  }

  // The end.

  ended(known, plan) {
    const { state, data } = this, { words } = data;
    const note = make("textarea", { id: "pawl-note", maxlength: 2000, rows: 3, on: { input: () => { state.note = note.value; this.keepState(); } } });
    note.value = state.note;
    const gauge = make("input", { type: "checkbox", on: { change: () => { state.gauge = gauge.checked; this.keepState(); } } });
    gauge.checked = state.gauge ?? data.feeler_given;
    const better = !state.best && this.setting.going(state.readings, state.rounds, true).work.do !== "done";
    return make("section", { class: "card" }, make("h2", { class: "do" }, this.setting.leaveLine(plan.readings)),
      paragraph(PawlWords.prove(), "expect"),
      better ? button(say("Move what may stay to a better place"), () => { Object.assign(state, { best: true, bestFrom: state.rounds.length }); this.next(); }, "quiet") : null,
      make("div", { class: "plates" }, make("label", {}, gauge, say("Measured with a gauge in steps of {step}", { step: PawlWords.length(data.feeler_step_m, this.us) }))),
      make("div", { class: "field" }, make("label", { for: "pawl-note" }, say("Note"), " ", make("span", { class: "soft" }, say("(may stay empty)"))), note),
      make("div", { class: "buttons" }, button(say("Keep it"), () => this.keep(known))));
  }

  /** What the log takes of it: gaps as found and as left, turns; what was read and nothing else. */
  values(known) {
    const { state, data } = this, values = {}, net = this.setting.netTurns(state.rounds);
    this.setting.pawls.forEach(({ pawl }, i) => {
      const before = state.readings[pawl], { gap, fresh } = known[i];
      values[`gap_before_m/${pawl}`] = before;
      if (fresh) values[`gap_after_m/${pawl}`] = gap;
      const moved = state.rounds.some((one) => one.pawl === pawl && this.setting.wasMoved(one));
      if (!moved) values[`turns/${pawl}`] = 0; // nobody touched it
      // The log takes the way of the turns from the gaps: where these say otherwise it is not told.
      else if (fresh && net[pawl] && (net[pawl] > 0) === (gap >= before)) values[`turns/${pawl}`] = Math.abs(net[pawl]);
    });
    const [low, high] = data.log.feeler_m, step = data.feeler_step_m;
    if ((state.gauge ?? data.feeler_given) && step >= low && step <= high) values.feeler_m = step;
    return values;
  }

  keep(known) {
    const values = this.values(known), note = this.state.note.trim();
    this.card.keep("adjustment", values, note);
    this.state = { ...PawlPage.fresh(this.setting.names, this.unit), kept: { values, note } };
    this.next();
  }

  keptLines() {
    const { values, note } = this.state.kept;
    const gap = (key) => (values[key] === undefined ? say("not read") : PawlWords.length(values[key], this.us));
    const told = (name) => {
      const turns = values[`turns/${name}`];
      const line = { pawl: PawlWords.place(name), before: gap(`gap_before_m/${name}`), after: gap(`gap_after_m/${name}`) };
      if (turns === undefined) return say("{pawl} pawl: {before} as found, {after} as left", line);
      if (turns === 0) return say("{pawl} pawl: {before} as found, {after} as left, not touched", line);
      return say("{pawl} pawl: {before} as found, {after} as left, its clevis turned by {turns}", { ...line, turns: PawlWords.turns(turns, 1) });
    };
    return make("section", { class: "card" }, make("h2", { class: "do" }, say("Kept on this phone.")),
      list([...this.setting.names.map(told), ...(note ? [note] : [])], "rows"),
      make("div", { class: "buttons" }, button(say("Set the pawls again"), () => {
        this.state = PawlPage.fresh(this.setting.names, this.unit);
        this.next();
      }, "second")));
  }

  // What lies behind it.

  why() {
    const { because, learned, assumed } = this.data.words, system = this.us ? "us" : "metric";
    return make("details", {}, make("summary", {}, say("Why so")), list(because[system]),
      learned[system].length ? [make("h3", {}, say("Learned from past settings")), list(learned[system])] : null,
      assumed.length ? [make("h3", {}, say("Assumed, for the machine's file does not say it")), list(assumed)] : null);
  }
}
