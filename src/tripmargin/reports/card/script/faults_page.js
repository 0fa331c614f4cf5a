// What is wrong: one card at a time, answered at one touch; the sums are those of faults.js.

const LEFT_ALONE = 30 * 60 * 1000; // ms; nobody leaves a machine live so long without an answer

function faultsPage(root, card) {
  const data = card.data.faults;
  if (!data) {
    put(root, make("h1", {}, say("What is wrong?")), paragraph(card.data.no_faults));
    return;
  }
  card.problem = card.problem || new Problem(data);
  const kept = card.kept.all.cases, open = kept.find((each) => each.open);
  if (!open) return begin(root, card, kept);
  const entries = open.lines.map((line) => line.entry);
  const found = new FaultCase(card.problem, entries, LEFT_ALONE);
  put(root, make("h1", {}, say("What is wrong?")));
  if (open.shown !== open.lines.length) open.picked = undefined;
  open.shown = open.lines.length;
  const best = found.next(4);
  if (best.length) {
    const chosen = best.find((each) => each.number === open.picked) || best[0];
    put(root, faultCard(card, open, found, chosen));
    if (best.length > 1) put(root, otherCards(card, open, best, chosen));
  } else put(root, ended(card, open, found));
  put(root, suspectBars(found), soFar(card, open, found));
}

function begin(root, card, kept) {
  put(root, make("h1", {}, say("What is wrong?")),
    paragraph(say("The card asks, you look, and it works out what to look at next: here on the phone, as the program does.")),
    cautionBox([...card.data.faults.cautions.rest, card.data.faults.cautions.first]),
    button(say("Begin"), () => {
      card.change((all) => all.cases.push({ uid: newId(), digest: card.data.digest, lines: [],
        begun: new Date().toISOString(), open: true, sent: false }));
      card.draw();
    }));
  const done = kept.filter((each) => !each.open && each.lines.length);
  if (done.length) {
    put(root, make("h2", {}, say("Cases kept on this phone")), make("ul", { class: "rows" }, done.map((each) =>
      make("li", {}, caseLineSaid(each), " ",
        button(say("Go on with it"), () => { each.open = true; card.change(() => {}); card.draw(); }, "quiet")))));
  }
}

function caseLineSaid({ begun, lines, sent }) {
  const when = momentWords(begun);
  return sent ? sayMany("{when}: {count} answer, sent", "{when}: {count} answers, sent", lines.length, { when })
    : sayMany("{when}: {count} answer", "{when}: {count} answers", lines.length, { when });
}

/** Record an answer: what the page computes with, and what the log takes. */
function answer(card, open, entry, finding) {
  const at = Date.now(), check = entry.check || entry.repair || "hand over";
  card.change(() => {
    open.lines.push({ uid: newId(), at, check, finding, failed_at: entry.failed_at, note: entry.note,
      entry: { ...entry, at } });
    open.sent = false;
    open.status = new FaultCase(card.problem, open.lines.map((line) => line.entry), LEFT_ALONE).now.status;
  });
  card.draw();
  scrollTo(0, 0);
}

function faultCard(card, open, found, { number, expected }) {
  const { problem } = card, checks = problem.checks.length, data = card.data.faults;
  const minutes = say("To the end of it, with the daily test: about {minutes:.0f} min.", { minutes: expected });
  if (number >= checks) return repairCard(card, open, found, number - checks, minutes);
  const check = problem.checks[number], state = data.states[check.state];
  if (check.id === ASK) {
    return make("section", { class: "card" }, make("h2", { class: "do" }, say("What does the operator say?")),
      make("div", { class: "plates tall" }, check.words.map((word) =>
        button(data.complaints[word], () => answer(card, open, { check: ASK, word }, word), "second"))));
  }
  const at = data.states[found.now.situation.state].name, stands = state.chain.indexOf(at);
  const way = stands >= 0 ? state.way.slice(stands + 1) : state.way;
  return make("section", { class: "card" },
    cautionBox([...(check.two ? state.two : state.cautions), data.cautions.first]),
    way.length ? [make("h2", {}, say("Bring the machine into the state “{state}”", { state: state.said })), list(way, "way", "ol")]
      : paragraph(say("The machine stays as it is. {state}", { state: state.way[state.way.length - 1] })),
    stands >= 0 && way.length < state.way.length ? make("details", {},
      make("summary", {}, say("If it does not stand so: the whole way, from rest")), list(state.way, "way", "ol")) : null,
    make("h2", { class: "do" }, check.do),
    check.place ? paragraph(say("Where: {place}.", { place: check.place })) : null,
    check.bands ? readingBox(card, open, check) : plates(card, open, check),
    unsure(card, open, check), paragraph(minutes, "soft"));
}

/** A word that may be found, as it is read; findings are kept by the word itself. */
const wordSaid = (check, word) => check.said[word] || word;

function plates(card, open, check) {
  return [make("h3", {}, say("What do you find?")), make("div", { class: "plates tall" },
    check.words.filter((word) => !Object.values(card.data.faults.unsure).includes(word)).map((word) =>
      button([wordSaid(check, word), word === check.sound ? [" ", make("span", { class: "soft" }, say("(as on a sound machine)"))] : ""],
        () => answer(card, open, { check: check.id, word }, word), "second")))];
}

const OHMS = { ohm: 1, kohm: 1e3, Mohm: 1e6 };
const unitSaid = (unit) => ({ ohm: sayAs("unit", "ohm"), kohm: sayAs("unit", "kohm"), Mohm: sayAs("unit", "Mohm") })[unit] || unit;

function readingBox(card, open, check) {
  const { bands } = check, ohms = bands.unit === "ohm";
  const input = make("input", { id: "reading", inputmode: "decimal", autocomplete: "off", maxlength: 40 });
  const unit = make("select", { "aria-label": say("Unit") }, Object.keys(ohms ? OHMS : { V: 1 }).map((each) => make("option", { value: each }, unitSaid(each))));
  const trouble = make("p", { class: "trouble", role: "alert" });
  const record = () => {
    const factor = ohms ? OHMS[unit.value] : 1, { least, most } = bands;
    const read = readNumber(input.value, { label: say("Reading"), unit: unit.value, unit_said: unitSaid(unit.value),
      least: least === null ? -1e9 : Math.round(least / factor), most: most === null ? 1e9 : Math.round(most / factor) });
    if (read.trouble) {
      trouble.textContent = [read.trouble, say("Are the probes the right way round, and the meter on the right range? If it still reads so, take “saw something else”.")].join(" ");
      return;
    }
    const reading = read.value * factor;
    answer(card, open, { check: check.id, word: bandWord(bands, reading), reading }, reading);
  };
  const overload = bands.words[bands.words.length - 1];
  return [make("h3", {}, say("What does the meter show?")), make("div", { class: "field" },
    make("label", { for: "reading" }, say("Reading")), make("div", { class: "with-unit" }, input, unit),
    paragraph(say("On a sound machine: {reading}.", { reading: wordSaid(check, check.sound) }), "help"), trouble),
  make("div", { class: "buttons" }, button(say("Record the reading"), record),
    ohms ? button(say("OL: overload"), () => answer(card, open, { check: check.id, word: overload }, overload), "second") : null)];
}

/** The range that a reading falls in: as many limits as are not above it. */
const bandWord = (bands, reading) => bands.words[bands.limits.filter((limit) => limit <= reading).length];

function unsure(card, open, check) {
  const { cannot_tell: cannot, saw_else: other } = card.data.faults.unsure;
  const note = make("textarea", { id: "saw", maxlength: 1000, rows: 3 });
  return [make("div", { class: "buttons" },
    button(say("Can't tell"), () => answer(card, open, { check: check.id, word: cannot }, cannot), "second")),
  make("details", {}, make("summary", {}, say("Saw something else")),
    make("label", { for: "saw" }, say("What did you see?"), " ", make("span", { class: "soft" }, say("(a sentence; may stay empty)"))), note,
    make("div", { class: "buttons" }, button(say("Record: saw something else"),
      () => answer(card, open, { check: check.id, word: other, note: note.value.trim() }, other), "second")))];
}

function repairCard(card, open, found, repair, minutes) {
  const data = card.data.faults, work = card.problem.repairs[repair], { daily } = data;
  if (work.id === HAND_OVER) return handOver(card, open);
  const cures = sum(found.now.situation.belief.filter((_, h) => card.problem.left[repair][h] === CURED));
  const test = work.id === PROVE_AGAIN;
  return make("section", { class: "card" },
    test ? null : make("p", { class: "price" }, [
      ...(work.module ? [say("A MODULE, REPLACED WHOLE.")] : []), say("Chance that it cures: {chance}.", { chance: percentOf(cures) }),
      work.price ? say("Price of parts: {price}, {hour}.", { price: work.price, hour: data.prices }) : say("No parts."),
      say("Work: {minutes:.0f} min.", { minutes: work.work })].join(" ")),
    cautionBox([...data.cautions.rest, data.cautions.first]),
    make("h2", { class: "do" }, work.do), work.place ? paragraph(say("Where: {place}.", { place: work.place })) : null,
    make("h3", {}, test ? say("The daily test") : say("Then the daily test")),
    daily.cautions.length ? cautionBox(daily.cautions) : null,
    make("ol", { class: "way" }, daily.steps.map((step) => make("li", {}, step.do, " ", make("strong", {}, step.must)))),
    make("h3", {}, say("What did the daily test show?")),
    make("div", { class: "buttons" }, button(say("Passed: all of it as said above"),
      () => answer(card, open, { repair: work.id, word: "passed" }, "passed"))),
    make("h3", {}, say("It failed: at which step?")),
    make("div", { class: "plates" }, daily.steps.map((_, k) => button(say("Step {number}", { number: k + 1 }),
      () => answer(card, open, { repair: work.id, word: "failed", failed_at: k + 1 }, "failed"), "second")),
    button(say("Step not known"), () => answer(card, open, { repair: work.id, word: "failed" }, "failed"), "second")),
    paragraph(minutes, "soft"));
}

function handOver(card, open) {
  const why = make("textarea", { id: "why", maxlength: 1000, rows: 3 });
  return make("section", { class: "card" }, make("h2", { class: "do" }, say("Hand the machine over to somebody who knows it better.")),
    paragraph(say("Nothing that this card knows of is worth doing next.")),
    make("label", { for: "why" }, say("What do you tell them?")), why,
    make("div", { class: "buttons" }, button(say("Hand over"), () =>
      answer(card, open, { handOver: true }, why.value.trim() || say("nothing left to look at")))));
}

function otherCards(card, open, best, chosen) {
  const { checks, repairs } = card.problem;
  const said = (number) => (number < checks.length ? checks[number].do : repairs[number - checks.length].do);
  return make("details", {}, make("summary", {}, say("Another card")), make("ul", { class: "rows" },
    best.filter((each) => each !== chosen && each.number !== 0).map((each) => make("li", {},
      button(said(each.number), () => { open.picked = each.number; card.draw(); scrollTo(0, 0); }, "quiet")))));
}

function ended(card, open, found) {
  const closed = found.now.status === CLOSED;
  return make("section", { class: "card" },
    make("h2", { class: "do" }, closed ? say("Mended, and the daily test passed.") : say("Handed over.")),
    closed ? paragraph(say("What it cannot show it does not prove.")) : null,
    paragraph(closed ? say("Doubt left: {chance}.", { chance: percentOf(doubtLeft(card.problem, found.now.situation)) }) : say("The case is kept as it stands.")),
    closed ? afterRepair(card) : null,
    make("div", { class: "buttons" }, button(say("Close it here"), () => { card.change(() => { open.open = false; }); card.go("kept"); })));
}

/** What is still to be done behind a daily test that passed. */
function afterRepair(card) {
  const { daily } = card.data.faults;
  return [make("h3", {}, say("After work at the sensor or the detector")),
    cautionBox(daily.cautions.length ? daily.cautions : card.data.cautions),
    paragraph(say("Send the test piece over the sensor, in the way that the operator's manual describes. Nobody within reach of the rolls.")),
    paragraph(say("Write the daily check down as well: a stop that this card tells of ends only with a check that passed.")),
    make("a", { href: "#log%20daily%20check", class: "way-on" }, say("Daily check"))];
}

function suspectBars(found) {
  const likely = found.suspects().filter((each) => each.chance > 0.005).slice(0, 6);
  return make("section", {}, make("h2", {}, say("What it may be")), make("ul", { class: "bars" }, likely.map((each) =>
    make("li", {}, make("span", {}, each.said), make("strong", {}, percentOf(each.chance)),
      make("meter", { min: 0, max: 1, value: each.chance, "aria-label": each.said })))),
  paragraph(say("Worked out on this phone from the machine's file and your answers."), "soft"));
}

function soFar(card, open, found) {
  if (!open.lines.length) return make("div", { class: "buttons" }, button(say("Leave it"), () => {
    card.change((all) => { all.cases = all.cases.filter((each) => each !== open); }); card.draw(); }, "quiet"));
  const { problem } = card, data = card.data.faults;
  const said = ({ entry, finding, note }) => {
    if (entry.check === ASK) return say("The operator: {complaint}", { complaint: data.complaints[entry.word] });
    if (entry.handOver) return say("Handed over: {why}", { why: finding });
    const of = entry.check ? problem.checks.find((each) => each.id === entry.check) : problem.repairs.find((each) => each.id === entry.repair);
    const what = typeof finding === "number" ? withUnit(finding, unitSaid(of.bands.unit)) : wordSaid(entry.check ? of : data, finding);
    const line = entry.failed_at ? say("{do} Found: {found} at step {step}.", { do: of.do, found: what, step: entry.failed_at }) : say("{do} Found: {found}.", { do: of.do, found: what });
    return note ? `${line} (${note})` : line;
  };
  return make("section", {}, make("h2", {}, say("So far")), list(open.lines.map(said), "way", "ol"),
    make("div", { class: "buttons" },
      open.lines[open.lines.length - 1].sent ? paragraph(say("The last answer is sent: take it back in the yard's log."))
        : button(say("Take the last answer back"), () => { card.change(() => takeBack(open)); card.draw(); }, "second"),
      button(say("Stop here, keep it"), () => { card.change(() => { open.open = false; }); card.go("kept"); }, "second")));
}

/** The last answer no longer counts; it stays among what was taken back. */
function takeBack(open) {
  const last = open.lines.pop();
  (open.taken_back = open.taken_back || []).push(last);
  open.sent = false;
}
