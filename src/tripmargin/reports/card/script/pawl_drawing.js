// Each pawl's gap in its window, and what the widest of them does to the stop: drawn and in tables.

const PAWL_SVG = "http://www.w3.org/2000/svg";
const PAWL_WIDTH = 340, PAWL_EDGE = 10, PAWL_ROW = 86, PAWL_BAR = 20, PAWL_TYPE = 14; // px
const PAWL_INK = "var(--ink, black)", PAWL_ACCENT = "var(--accent, black)", PAWL_PAPER = "var(--paper, white)";

function pawlShape(tag, attributes, ...children) {
  const made = document.createElementNS(PAWL_SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

function pawlText(x, y, said, middle = true) {
  const half = middle ? said.length * PAWL_TYPE * 0.29 : 0; // about; kept on the sheet
  const at = middle ? Math.min(Math.max(x, PAWL_EDGE + half), PAWL_WIDTH - PAWL_EDGE - half) : x;
  return pawlShape("text", {
    x: at, y, "font-size": PAWL_TYPE, "font-weight": "bold", fill: PAWL_INK, "text-anchor": middle ? "middle" : "start",
  }, said);
}

/** One bar a pawl: the window, where a gap may stay, the gap now, the aim; and one line on it. */
function pawlDrawing(setting, known) {
  const { pawls, us, data: { window_m: [low, high] } } = setting;
  const ends = known.map(({ gap, sd }) => [Math.max(gap - PAWL_WIDE * sd, 0), gap + PAWL_WIDE * sd]);
  const least = Math.min(low, ...ends.flat()), most = Math.max(high, ...ends.flat()), spare = 0.12 * (most - least);
  const from = Math.max(least - spare, 0), span = most + spare - from;
  const at = (gap) => PAWL_EDGE + (PAWL_WIDTH - 2 * PAWL_EDGE) * (gap - from) / span;
  const told = known.map(({ gap, fresh }, i) => {
    const values = { pawl: PawlWords.names[pawls[i].pawl].called, gap: PawlWords.gap(gap, us), aim: PawlWords.gap(pawls[i].aim_m, us) };
    return fresh ? say("{pawl}: measured {gap}, aim {aim}", values) : say("{pawl}: reckoned {gap}, aim {aim}", values);
  }).join("; ");
  const window = PawlWords.between([low, high], us);
  const slant = pawlShape("pattern", { id: "pawl-slant", width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
    pawlShape("rect", { width: 7, height: 7, fill: PAWL_PAPER }),
    pawlShape("line", { x1: 0, y1: 0, x2: 0, y2: 7, stroke: PAWL_INK, "stroke-width": 2 }));
  const svg = pawlShape("svg", {
    class: "pawl-gaps", viewBox: `0 0 ${PAWL_WIDTH} ${PAWL_ROW * pawls.length}`, width: PAWL_WIDTH, role: "img",
    "aria-label": say("Window {window}. {pawls}.", { window, pawls: told }),
  }, pawlShape("defs", {}, slant));
  pawls.forEach((each, i) => svg.append(...pawlBar(each, known[i], ends[i], { at, low, high, us, top: PAWL_ROW * i })));
  return [make("figure", { class: "pawls" }, svg), paragraph(say(
    "Striped: the window of {window}. Solid: a reading may stay there. Ring: the gap now, its line holds 95 %. Arrow: the aim.", { window }), "soft")];
}

function pawlBar(each, { gap, fresh }, [first, last], { at, low, high, us, top }) {
  const y = top + 42, middle = y + PAWL_BAR / 2, foot = y + PAWL_BAR + 2, aim = at(each.aim_m);
  const line = (x1, x2, stroke, width) => pawlShape("line", { x1, y1: middle, x2, y2: middle, stroke, "stroke-width": width });
  const bar = (a, b, fill) => pawlShape("rect", { x: at(a), y, width: at(b) - at(a), height: PAWL_BAR, fill, stroke: PAWL_INK, "stroke-width": 1.5 });
  return [
    pawlText(PAWL_EDGE, top + 16, PawlWords.names[each.pawl].title, false),
    line(PAWL_EDGE, PAWL_WIDTH - PAWL_EDGE, PAWL_INK, 1), bar(low, high, "url(#pawl-slant)"),
    ...(each.room_m ? [bar(...each.room_m, PAWL_ACCENT)] : []),
    line(at(first), at(last), PAWL_PAPER, 6), line(at(first), at(last), PAWL_INK, 2.5),
    pawlShape("circle", { cx: at(gap), cy: middle, r: 6, fill: PAWL_PAPER, stroke: PAWL_INK, "stroke-width": 3 }),
    pawlShape("path", { d: `M${aim} ${foot}l-8 12h16z`, fill: PAWL_ACCENT }),
    pawlText(at(gap), y - 6, fresh ? say("now {gap}", { gap: PawlWords.gap(gap, us) }) : say("now, reckoned: {gap}", { gap: PawlWords.gap(gap, us) })),
    ...pawlAim(aim, foot + 12, each.aim_m, us),
  ];
}

/** The aim's number stands beside its arrow, on the side that has room. */
function pawlAim(x, y, aim, us) {
  const said = pawlText(x, y, say("aim {gap}", { gap: PawlWords.gap(aim, us) }), false), right = x < PAWL_WIDTH / 2;
  said.setAttribute("x", right ? x + 12 : x - 12);
  said.setAttribute("text-anchor", right ? "start" : "end");
  return [said];
}

function pawlTable(heads, rows, caption) {
  return make("div", { class: "table" }, make("table", {}, make("caption", {}, caption),
    make("thead", {}, make("tr", {}, heads.map((head) => make("th", { scope: "col" }, head)))),
    make("tbody", {}, rows.map((row) => make("tr", {}, row.map((cell, k) => make("td", { class: k === 0 ? "short" : null }, cell)))))));
}

function pawlGapTable(setting, known) {
  const { us } = setting;
  const rows = setting.pawls.map((each, i) => [
    PawlWords.place(each.pawl), known[i].fresh ? PawlWords.gap(known[i].gap, us) : say("{gap} (reckoned)", { gap: PawlWords.gap(known[i].gap, us) }),
    PawlWords.percent(setting.inside(i, known[i].gap, known[i].sd)),
    each.room_m ? PawlWords.between(each.room_m, us) : say("none is sure"), PawlWords.gap(each.aim_m, us),
  ]);
  return make("details", {}, make("summary", {}, say("The gaps in numbers")),
    pawlTable([say("Pawl"), say("Gap"), say("Inside"), say("May stay from"), say("Aim")], rows, say("Inside: chance to be in the window until it is set again.")));
}

/** A number with its limits; a stop that never comes has none. */
function pawlSpread(value, unit) {
  if (!value) return say("not known");
  const told = (x, digits) => (x === null ? say("never") : withSign(PawlWords.general(x / unit, digits, true)));
  return value[0] === null ? say("never")
    : say("{value} ({low} to {high})", { value: told(value[0], 3), low: told(value[1], 2), high: told(value[2], 2) });
}

/** Between the gaps that were raced a straight line; null beyond them. */
function pawlBetween(gaps, values, gap) {
  const n = gaps.findIndex((each, k) => k > 0 && gap <= each) - 1;
  if (n < 0 || gap < gaps[0] || !values[n] || !values[n + 1]) return null;
  const share = (gap - gaps[n]) / (gaps[n + 1] - gaps[n]), after = values[n + 1];
  return values[n].map((x, k) => (x === null || after[k] === null ? null : x + share * (after[k] - x)));
}

function pawlStopTable(data, widest, us) {
  const { effects } = data;
  const head = make("summary", {}, say("What the gaps do to the stop"));
  if (!effects) return make("details", {}, head, paragraph(data.words.needs.length ? say("Not known without {needs}.", { needs: data.words.needs.join(", ") }) : say("Not known.")));
  const unit = us ? PAWL_INCH : 1e-3, rows = [], beyond = widest > effects.gaps_m[effects.gaps_m.length - 1] || widest < effects.gaps_m[0];
  for (const cut of effects.cuts) {
    const now = (key) => pawlBetween(effects.gaps_m, cut.on_grid.map((one) => one[key]), widest);
    const size = PawlWords.length(cut.cut_length_m, us);
    if (!beyond) rows.push([size, sayAs("gaps", "now"), pawlSpread(now("stop_time_s"), 1e-3), pawlSpread(now("margin_m"), unit)]);
    rows.push([beyond ? size : "", sayAs("gaps", "aim"), pawlSpread(cut.at_aim.stop_time_s, 1e-3), pawlSpread(cut.at_aim.margin_m, unit)]);
  }
  const gap = PawlWords.gap(widest, us), told = beyond ? say("A gap of {gap} lies beyond those that were reckoned.", { gap })
    : say("Now: as if every gap were as wide as the widest, {gap}.", { gap });
  const aims = say("Aim: every gap at its aim. Each with its limits; the margin is that of a {piece}.", { piece: effects.piece });
  const heads = [say("Cut"), say("Gaps"), say("Stop time, ms"), say("Margin, {unit}", { unit: PawlWords.unit(us) })];
  return make("details", {}, head, pawlTable(heads, rows, `${told} ${aims}`));
}
