// Numbers and sentences of the pawls' setting, letter by letter those of the program's own room.

const PAWL_AGAIN = "run this again with the new measures";
const PAWL_LITTLE = 0.02e-3; // m, a shift that is not worth a word
const PAWL_INCH = 0.0254;

/** Why readings are not taken: of which pawls, what, the value seen, what is wrong, what is allowed,
 * how to mend it. */
class PawlRefusal extends Error {
  constructor(pawls, value, problem, allowed, hint = "") {
    const what = pawls.map((pawl) => `gap of ${pawl}`).join(", ");
    super(`${what}${value ? ` = ${value}` : ""}: ${problem}.\nAllowed: ${allowed}.${hint && "\n"}${hint}`);
    Object.assign(this, { pawls, what, value, problem, allowed, hint });
  }
}

class PawlWords {
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
    const number = PawlWords.general(value / (us ? PAWL_INCH : 1e-3), digits, true);
    return `${number} ${us ? "in" : "mm"}`;
  }

  /** A chance, never rounded up to what it does not reach. */
  static percent(share) {
    if (Number.isNaN(share)) return "not known";
    if (share >= 1) return "100 %";
    if (share > 0.99999) return "over 99.999 %";
    if (share > 0 && share < 1 - 0.99999) return "under 0.001 %";
    const digits = share >= 0.01 && share <= 0.99 ? 1 : share >= 0.0005 && share <= 0.9995 ? 2 : 3;
    return PawlWords.stripped(PawlWords.fixed(100 * Math.max(share, 0), digits)) + " %";
  }

  static gap(gap, us) {
    if (us) return `${PawlWords.fixed(gap / PAWL_INCH, 3)} in`;
    return `${PawlWords.stripped(PawlWords.fixed(gap * 1e3, 2))} mm`;
  }

  static between([low, high], us) {
    const first = PawlWords.gap(Math.max(low, 0), us);
    return `${first.slice(0, first.lastIndexOf(" "))} to ${PawlWords.gap(high, us)}`;
  }

  static turns(turns, smallest) {
    const count = Math.abs(turns);
    const said = `${PawlWords.general(count, 3)} turn${Math.abs(count - 1) < 1e-9 ? "" : "s"}`;
    if (!(smallest < 0.5 - 1e-9)) return said;
    const steps = PawlWords.whole(count / smallest);
    return `${said} (${steps} steps of ${PawlWords.general(360 * smallest, 3)} deg)`;
  }

  static way(each, opens) {
    if (each.turned_out === null) return null;
    return (each.turned_out === "opens") === opens ? "out" : "in";
  }

  static turn(each, turns, before, after, us) {
    const opens = turns > 0, does = opens ? "opens" : "closes";
    const how = PawlWords.turns(turns, each.smallest_turn), way = PawlWords.way(each, opens);
    const which = way ? `${way} by ${how}` : `by ${how}, the way that ${does} the gap`;
    const pin = each.smallest_turn > 0.5 - 1e-9;
    return `Loosen the jam nut of the ${each.pawl} pawl's clevis${pin ? ", take its pin out" : ""}`
      + ` and turn the clevis ${which}: the gap ${does} from ${PawlWords.gap(before, us)} to about`
      + ` ${PawlWords.gap(after, us)}.${pin ? " Put the pin back and secure it." : ""}`;
  }

  static place(each, gap, before, us) {
    return `Loosen the ${each.pawl} pawl's clamp and slide it until the ${PawlWords.gap(gap, us)}`
      + ` blade just passes; the gap ${gap > before ? "opens" : "closes"} from`
      + ` ${PawlWords.gap(before, us)}.`;
  }

  static tighten(each, us) {
    const shift = each.shift_m, size = Math.abs(shift);
    const scatter = 2 * (each.shift_sd_m ** 2 + each.scatter_sd_m ** 2) ** 0.5;
    const clevis = "the jam nut, holding the clevis still";
    const means = size > Math.max(PAWL_LITTLE, 0.25 * scatter)
      ? `that ${shift > 0 ? "opens" : "closes"} the gap by about ${PawlWords.gap(size, us)}`
      : `that may move the gap by up to ${PawlWords.gap(scatter + size, us)}`;
    return `Tighten ${each.kind === "clevis" ? clevis : "the clamp's bolt"}: ${means}.`;
  }

  static expect(pawl, expect, again, us) {
    return `Measure the ${pawl} pawl's gap${again ? " again" : ""}: expect`
      + ` ${PawlWords.between(expect, us)}.`;
  }

  static measure(pawl, expect, leave, { last, again, us }) {
    const said = PawlWords.expect(pawl, expect, again, us);
    if (!last || leave === null) {
      return `${said} If it is otherwise, stop here and ${PAWL_AGAIN}.`;
    }
    return `${said} Leave it anywhere from ${PawlWords.between(leave, us)}; outside that,`
      + ` ${PAWL_AGAIN}.`;
  }

  static prove() {
    return "Tools and blocks out, guards shut, everybody clear; then the daily check as the"
      + " operator's manual says: it must trip, stop and reset.";
  }

  /** That nothing is to be touched, and why. */
  static leave({ several, window, confidence, sure, us }) {
    if (!sure) {
      return "Leave it: no move makes it surer than it is. Look at the linkage for wear and play.";
    }
    return `Leave it. ${several ? "Every gap is" : "The gap is"} inside`
      + ` ${PawlWords.between(window, us)} with ${confidence} or more, now and until it is set`
      + " again.";
  }
}
