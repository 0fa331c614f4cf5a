// Numbers and sentences of the pawls' setting, letter by letter those of the program's own room.

const PAWL_LITTLE = 0.02e-3; // m, a shift that is not worth a word
const PAWL_INCH = 0.0254;

/** Why readings are not taken: of which pawls, what, the value seen, what is wrong, what is allowed,
 * how to mend it. */
class PawlRefusal extends Error {
  constructor(pawls, value, problem, allowed, hint = "") {
    const what = pawls.map((pawl) => say("gap of {pawl}", { pawl: PawlWords.place(pawl) })).join(", ");
    const lines = [`${value ? `${what} = ${value}` : what}: ${problem}.`, say("Allowed: {allowed}.", { allowed }), hint];
    super(lines.filter((line) => line).join("\n"));
    Object.assign(this, { pawls, what, value, problem, allowed, hint });
  }
}

class PawlWords {
  /** What each pawl is called, by its name in the machine's file: alone, within a line, before one. */
  static names = {};

  static place(name) { return (PawlWords.names[name] || {}).place || name; }

  /** Python rounds a half to the even digit, `toFixed` and `toExponential` round it up. */
  static halfEven(short, long, kept) {
    const half = /^50*$/.test(long.slice(kept)) && "02468".includes(long[kept - 1]);
    return half ? long.slice(0, kept) : short;
  }

  static whole(x) {
    const low = Math.floor(x), over = x - low;
    return over > 0.5 || (over === 0.5 && low % 2 !== 0) ? low + 1 : low;
  }

  static sign(x) { return x < 0 || Object.is(x, -0) ? "-" : ""; }

  /** At least one digit behind the point. */
  static fixed(x, digits) {
    const size = Math.abs(x), long = size.toFixed(100);
    const kept = long.indexOf(".") + 1 + digits;
    return PawlWords.sign(x) + PawlWords.halfEven(size.toFixed(digits), long, kept);
  }

  static stripped(said) { return said.includes(".") ? said.replace(/\.?0+$/, "") : said; }

  /** So many digits that count, at least two; `plain`: without a power of ten where it may be. */
  static general(x, digits, plain = false) {
    if (x === 0) return PawlWords.sign(x) + "0";
    const size = Math.abs(x), [short, power] = size.toExponential(digits - 1).split("e");
    const long = size.toExponential(100).split("e");
    const kept = long[1] === power ? PawlWords.halfEven(short, long[0], digits + 1) : short;
    const e = Number(power);
    if (e >= -4 && e < digits || plain && size > 1e-9 && size < 1e15) {
      return PawlWords.sign(x) + PawlWords.stripped(PawlWords.positional(kept.replace(".", ""), e));
    }
    const ten = `${e < 0 ? "-" : "+"}${String(Math.abs(e)).padStart(2, "0")}`;
    return `${PawlWords.sign(x)}${PawlWords.stripped(kept)}e${ten}`;
  }

  static positional(figures, e) {
    if (e < 0) return "0." + "0".repeat(-e - 1) + figures;
    const long = figures.padEnd(e + 1, "0");
    return long.length > e + 1 ? `${long.slice(0, e + 1)}.${long.slice(e + 1)}` : long;
  }

  /** A length, m, as a person reads it. */
  static length(value, us = false, digits = 4) {
    return `${withSign(PawlWords.general(value / (us ? PAWL_INCH : 1e-3), digits, true))} ${PawlWords.unit(us)}`;
  }

  static unit(us) { return us ? sayAs("unit", "in") : "mm"; }

  /** A chance, never rounded up to what it does not reach. */
  static percent(share) {
    if (Number.isNaN(share)) return say("not known");
    if (share >= 1) return "100 %";
    if (share > 0.99999) return say("over {share:.3f} %", { share: 99.999 });
    if (share > 0 && share < 1 - 0.99999) return say("under {share:.3f} %", { share: 0.001 });
    const digits = share >= 0.01 && share <= 0.99 ? 1 : share >= 0.0005 && share <= 0.9995 ? 2 : 3;
    return `${withSign(PawlWords.stripped(PawlWords.fixed(100 * Math.max(share, 0), digits)))} %`;
  }

  static gap(gap, us) { return `${PawlWords.gapNumber(gap, us)} ${PawlWords.unit(us)}`; }

  static gapNumber(gap, us) {
    return withSign(us ? PawlWords.fixed(gap / PAWL_INCH, 3) : PawlWords.stripped(PawlWords.fixed(gap * 1e3, 2)));
  }

  static between([low, high], us) {
    return say("{low} to {high}", { low: PawlWords.gapNumber(Math.max(low, 0), us), high: PawlWords.gap(high, us) });
  }

  static turns(turns, smallest) {
    const count = Math.abs(turns), one = Math.abs(count - 1) < 1e-9;
    const told = one ? say("1 turn") : say("{turns} turns", { turns: withSign(PawlWords.general(count, 3)) });
    if (!(smallest < 0.5 - 1e-9)) return told;
    return sayMany("{turns} ({count} step of {angle} deg)", "{turns} ({count} steps of {angle} deg)",
      PawlWords.whole(count / smallest), { turns: told, angle: withSign(PawlWords.general(360 * smallest, 3)) });
  }

  static way(each, opens) {
    if (each.turned_out === null) return null;
    return (each.turned_out === "opens") === opens ? "out" : "in";
  }

  static turn(each, turns, before, after, us) {
    const values = {
      pawl: PawlWords.place(each.pawl), turn: PawlWords.turnClevis(each, turns), gap: PawlWords.gapMoves(turns > 0, before, after, us),
    };
    return each.smallest_turn > 0.5 - 1e-9
      ? say("Loosen the jam nut of the {pawl} pawl's clevis, take its pin out and {turn}: {gap}. Put the pin back and secure it.", values)
      : say("Loosen the jam nut of the {pawl} pawl's clevis and {turn}: {gap}.", values);
  }

  static turnClevis(each, count) {
    const turns = PawlWords.turns(count, each.smallest_turn), way = PawlWords.way(each, count > 0);
    if (way === "out") return say("turn the clevis out by {turns}", { turns });
    if (way === "in") return say("turn the clevis in by {turns}", { turns });
    return count > 0 ? say("turn the clevis by {turns}, the way that opens the gap", { turns })
      : say("turn the clevis by {turns}, the way that closes the gap", { turns });
  }

  static gapMoves(opens, from, to, us) {
    const values = { before: PawlWords.gap(from, us), after: PawlWords.gap(to, us) };
    return opens ? say("the gap opens from {before} to about {after}", values) : say("the gap closes from {before} to about {after}", values);
  }

  /** Placing a clamp. */
  static slide(each, gap, before, us) {
    const values = { pawl: PawlWords.place(each.pawl), blade: PawlWords.gap(gap, us), before: PawlWords.gap(before, us) };
    return gap > before
      ? say("Loosen the {pawl} pawl's clamp and slide it until the {blade} blade just passes; the gap opens from {before}.", values)
      : say("Loosen the {pawl} pawl's clamp and slide it until the {blade} blade just passes; the gap closes from {before}.", values);
  }

  static tighten(each, us) {
    const means = PawlWords.tightened(each, us);
    return each.kind === "clevis" ? say("Tighten the jam nut, holding the clevis still: {means}.", { means })
      : say("Tighten the clamp's bolt: {means}.", { means });
  }

  static tightened(each, us) {
    const shift = each.shift_m, size = Math.abs(shift);
    const scatter = 2 * (each.shift_sd_m ** 2 + each.scatter_sd_m ** 2) ** 0.5;
    if (size <= Math.max(PAWL_LITTLE, 0.25 * scatter)) {
      return say("that may move the gap by up to {moved}", { moved: PawlWords.gap(scatter + size, us) });
    }
    const moved = PawlWords.gap(size, us);
    return shift > 0 ? say("that opens the gap by about {moved}", { moved }) : say("that closes the gap by about {moved}", { moved });
  }

  static expect(pawl, expect, again, us) {
    const values = { pawl: PawlWords.place(pawl), gaps: PawlWords.between(expect, us) };
    return again ? say("Measure the {pawl} pawl's gap again: expect {gaps}.", values) : say("Measure the {pawl} pawl's gap: expect {gaps}.", values);
  }

  static measure(pawl, expect, leave, { last, again, us }) {
    const then = last && leave !== null
      ? say("Leave it anywhere from {gaps}; outside that, run this again with the new measures.", { gaps: PawlWords.between(leave, us) })
      : say("If it is otherwise, stop here and run this again with the new measures.");
    return `${PawlWords.expect(pawl, expect, again, us)} ${then}`;
  }

  static prove() {
    return say("Tools and blocks out, guards shut, everybody clear; then the daily check as the operator's manual says: it must trip, stop and reset.");
  }

  /** That nothing is to be touched, and why. */
  static leave({ count, window, confidence, sure, us }) {
    if (!sure) return say("Leave it: no move makes it surer than it is. Look at the linkage for wear and play.");
    return sayMany("Leave it. The gap is inside {window} with {share} or more, now and until it is set again.",
      "Leave it. Every gap is inside {window} with {share} or more, now and until it is set again.",
      count, { window: PawlWords.between(window, us), share: confidence });
  }
}
