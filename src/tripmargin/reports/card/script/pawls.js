// From measured gaps to the fewest wrench moves: the same sums as the program's own room for
// setting pawls, so that a page without a network says the same next step. SI; gaps open above zero.

const PAWL_WORTH = 1e-3, PAWL_WORTH_UNSURE = 1e-2; // chance that a move must bring
const PAWL_LEAST_SD = 1e-7, PAWL_LEAST = 1e-4; // m
const PAWL_WIDE = 2; // standard deviations either side: nineteen of twenty measures

/** Chance that a standard normal number is below x. Near the middle the series of Abramowitz and
 * Stegun 26.2.11, all terms of one sign; in the tails their continued fraction 26.2.14. */
function pawlNormal(x) {
  const size = Math.abs(x), density = Math.exp(-size * size / 2) / Math.sqrt(2 * Math.PI);
  if (size < 3) {
    let term = size, total = size;
    for (let n = 3; term > total * 1e-17; n += 2) { term *= size * size / n; total += term; }
    return x < 0 ? 0.5 - density * total : 0.5 + density * total;
  }
  let below = size;
  for (let n = 80; n > 0; n--) below = size + n / below;
  return x < 0 ? density / below : 1 - density / below;
}

/** Plans the setting of one machine's pawls; cases are {pawl: gap}, rounds {pawl, gap, turns?,
 * placed?}, as the program's own. */
class PawlSetting {
  constructor(data, us = false, unitHint = data.words.refusals.unit) {
    Object.assign(this, { data, us, unitHint });
    this.pawls = data.pawls;
    this.names = data.pawls.map((each) => each.pawl);
    this.aims = data.pawls.map((each) => each.aim_m);
    this.doubt = data.reading_sd_m;
    PawlWords.names = data.words.names;
  }

  number(name) { return this.names.indexOf(name); }

  /** Change of gap i for a move of pawl j by one. */
  along(i, j) { return i === j ? 1 : this.pawls[j].coupling; }

  // What cannot be a gap, and what no adjuster can put right.

  readingsOf(gaps) {
    return this.names.map((name) => {
      if (gaps[name] === undefined || gaps[name] === null) {
        throw new PawlRefusal([name], "", say("not measured"),
          say("a gap for each pawl of this machine: {names}", { names: this.names.map((each) => PawlWords.place(each)).join(", ") }),
          say("Moving one pawl may move the others: measure them all first."));
      }
      this.requireGap(name, gaps[name]);
      return gaps[name];
    });
  }

  requireGap(name, gap) {
    const { allowed, look_at, thinnest_m, widest_m } = this.data.words.refusals;
    const refuse = (value, problem, hint) => {
      throw new PawlRefusal([name], value, problem, allowed, hint);
    };
    if (typeof gap !== "number") refuse(`'${gap}'`, say("not a number"), this.unitHint);
    if (!Number.isFinite(gap)) {
      const seen = Number.isNaN(gap) ? "nan" : gap > 0 ? "inf" : "-inf";
      refuse(seen, say("not a finite number"), this.unitHint);
    }
    const seen = PawlWords.length(gap, this.us);
    if (gap < 0) refuse(seen, say("no feeler reads less than nothing"));
    if (gap === 0) {
      refuse(`0 ${PawlWords.unit(this.us)}`, say("the pawl rests on the ratchet, or the thinnest blade did not go in"),
        say("From 0 nobody can tell how far to turn. Engine off, key out, everything at rest; with a block hold the pawl where it is when the feed runs, and measure again. If it still touches, look at: {parts}.", { parts: look_at }));
    }
    if (gap < thinnest_m) refuse(seen, say("thinner than any feeler blade"), this.unitHint);
    if (gap > widest_m) refuse(seen, say("wider than any pawl stands off"), this.unitHint);
  }

  requireInReach(readings) {
    const { alike, look_at } = this.data.words.refusals, { pawls, us } = this;
    const off = readings.map((gap, i) => gap - this.aims[i]), size = off.map(Math.abs);
    const far = size.map((_, i) => i).filter((i) => size[i] > pawls[i].range_m + 1e-12);
    if (!far.length) return;
    const worst = far.reduce((a, b) => (size[b] > size[a] ? b : a)), each = pawls[worst];
    const [low, high] = this.data.window_m.map((end) => PawlWords.length(end, us));
    const spread = Math.max(...off) - Math.min(...off);
    const together = off.length > 1 && spread < alike * Math.max(...size);
    const look = together
      ? say("All pawls are off alike, so look first at what they share: the plunger and its linkage, the pawls' shaft, the ratchet. Then at: {parts}. And measure again: was it the right gap?", { parts: look_at })
      : say("Look at: {parts}. And measure again: was it the right gap?", { parts: look_at });
    const force = far.some((i) => pawls[i].kind === "clevis")
      ? say("Do not wind the thread out to fetch it: a few threads hold nothing.")
      : say("Do not force the clamp to its end to fetch it.");
    const values = { off: PawlWords.length(size[worst], us, 3), low, high, range: PawlWords.length(each.range_m, us) };
    throw new PawlRefusal(
      far.map((i) => this.names[i]),
      far.map((i) => PawlWords.length(readings[i], us)).join(", "),
      each.kind === "clevis"
        ? say("{off} away from where it should be ({low} to {high}), and its clevis sets {range} from end to end", values)
        : say("{off} away from where it should be ({low} to {high}), and its clamp sets {range} from end to end", values),
      say("a gap that the adjuster can reach"),
      `${force} ${look}`,
    );
  }

  // Chances.

  /** That gap i is inside the window, now and still after a season's drift. */
  inside(i, gap, sd) {
    const { low_m, high_m, weights } = this.pawls[i], s = Math.max(sd, PAWL_LEAST_SD);
    return weights.reduce((sum, weight, n) => sum + weight * Math.max(
      pawlNormal((high_m[n] - gap) / s) - pawlNormal((low_m[n] - gap) / s), 0), 0);
  }

  insideNow(readings) { return readings.map((gap, i) => this.inside(i, gap, this.doubt)); }

  /** That the stop is in time, the other gaps at their aims. */
  inTime(i, gap) {
    const table = this.data.in_time[i], [low, high] = this.data.window_m, last = table.length - 1;
    if (last === 0 || gap <= low) return table[0];
    if (gap >= high) return table[last];
    const at = (gap - low) / (high - low) * last, n = Math.min(Math.floor(at), last - 1);
    return table[n] + (table[n + 1] - table[n]) * (at - n);
  }

  // Moves.

  /** The moves for measured gaps: each choice tried, the fewest pawls that surely do. */
  moves(readings, best = false) {
    let found = null, most = -Infinity;
    for (const choice of this.data.choices) {
      const made = this.tried(readings, choice), count = choice.pawls.length;
      if (choice.pawls.some((i) => this.pawls[i].kind === "clevis" && made.steps[i] === 0)) continue;
      made.after = readings.map((gap, i) =>
        gap + made.own.reduce((sum, own, j) => sum + own * this.along(i, j), 0));
      made.after_sd = this.variances(made).map(Math.sqrt);
      made.inside = made.after.map((gap, i) => this.inside(i, gap, made.after_sd[i]));
      const score = made.inside.reduce((sum, chance, i) =>
        sum + Math.log(Math.max(chance * this.inTime(i, made.after[i]), 1e-300)), 0)
        - (best ? PAWL_WORTH : PAWL_WORTH_UNSURE) * count;
      const told = Math.round(score * 1e9) / 1e9; // of two as good the first
      const sure = !best && made.inside.every((chance) => chance >= this.data.confidence_each);
      const worth = (sure ? 1e6 * (this.pawls.length + 1 - count) : 0) + told;
      if (worth > most) { most = worth; found = made; }
    }
    return found;
  }

  /** One choice: the pawls' own moves, m, and the clevises' steps. */
  tried(readings, { pawls, beyond, solve, clamps }) {
    const own = readings.map(() => 0), steps = own.slice(), moved = own.map((_, i) => pawls.includes(i));
    const times = (rows, right) => rows.map((row) => row.reduce((sum, x, n) => sum + x * right[n], 0));
    const short = (i) => this.aims[i] - readings[i];
    times(solve, pawls.map(short)).forEach((move, n) => { own[pawls[n]] = move; });
    const clevises = pawls.filter((i) => this.pawls[i].kind === "clevis");
    for (const i of clevises) {
      const each = this.pawls[i];
      steps[i] = Math.floor((own[i] - each.shift_m) / each.step_m + 1e-9) + beyond.includes(i);
      own[i] = steps[i] * each.step_m + each.shift_m;
    }
    const slid = pawls.filter((i) => !clevises.includes(i));
    if (slid.length && clevises.length) {
      const left = slid.map((i) =>
        clevises.reduce((rest, j) => rest - own[j] * this.along(i, j), short(i)));
      times(clamps, left).forEach((move, n) => { own[slid[n]] = move; });
    }
    return { moved, steps, own };
  }

  /** Of each pawl's own move, m2: leverage, placing, tightening. */
  ownVariances({ moved, steps }) {
    return this.pawls.map((each, i) => {
      if (!moved[i]) return 0;
      const way = each.kind === "clamp" ? each.placed_sd_m : steps[i] * each.way_m * each.leverage_sd;
      return each.shift_sd_m ** 2 + each.scatter_sd_m ** 2 + way ** 2;
    });
  }

  /** Of the gaps after the moves, m2, before anything is measured again. */
  variances(made) {
    const variance = this.ownVariances(made);
    return this.pawls.map((each, i) => this.pawls.reduce((sum, other, j) => {
      // A clamp is placed with a feeler after the pawls before it: what they did is in that.
      if (j === i || made.moved[i] && each.kind === "clamp" && j < i) return sum;
      return sum + other.coupling ** 2 * variance[j] + other.coupling_sd ** 2 * made.own[j] ** 2;
    }, this.doubt ** 2 + variance[i]));
  }

  // Steps in the trade's order.

  plan(gaps, best = false) {
    const readings = this.readingsOf(gaps);
    this.requireInReach(readings);
    const moves = this.moves(readings, best);
    const order = this.names.map((_, i) => i).filter((i) => moves.moved[i]);
    const steps = order.length ? new PawlSequence(this, readings, moves).steps(order) : [];
    return { readings, moves, steps, moved: order.map((i) => this.names[i]) };
  }

  leaveLine(readings) {
    const chances = this.insideNow(readings), enough = this.data.confidence_each;
    return PawlWords.leave({
      count: readings.length, window: this.data.window_m, us: this.us,
      confidence: this.data.words.confidence,
      sure: this.pawls.every((each, i) => each.sure_enough && chances[i] >= enough),
    });
  }

  // Pawl by pawl: what is known of each gap after every reading, and what to do next.

  /** Of every gap: as it was read last, and what moves of others did to it since. */
  known(readings, rounds) {
    const known = readings.map((gap) => ({ gap, sd: this.doubt, fresh: true }));
    for (const one of rounds) {
      const i = this.number(one.pawl), before = known[i], each = this.pawls[i];
      known[i] = { gap: one.gap, sd: this.doubt, fresh: true };
      if (!this.wasMoved(one) || each.coupling === 0 && each.coupling_sd === 0) continue;
      const own = one.gap - before.gap, doubt = Math.hypot(before.sd, this.doubt);
      const more = Math.hypot(each.coupling_sd * own, each.coupling * doubt);
      known.forEach(({ gap, sd }, j) => {
        if (j === i) return;
        known[j] = { gap: gap + each.coupling * own, sd: Math.hypot(sd, more), fresh: false };
      });
    }
    return known;
  }

  wasMoved(round) { return typeof round.turns === "number" || Boolean(round.placed); }

  expected({ gap, sd }) {
    const half = PAWL_WIDE * Math.hypot(sd, this.doubt);
    return [Math.max(gap - half, 0), gap + half];
  }

  /** A clevis is turned from a gap that was read; a clamp is placed by the blade. */
  nextWork(plan, known) {
    const measure = (i) => ({
      do: "measure", pawl: this.names[i], steps: [], expect: this.expected(known[i]),
    });
    if (plan.moved.length) {
      const pawl = plan.moved[0], i = this.number(pawl);
      if (this.pawls[i].kind !== "clamp" && !known[i].fresh) return measure(i);
      const mine = plan.steps.filter((step) => step.pawl === pawl);
      const first = mine.findIndex((step) => step.do === "turn" || step.do === "place");
      const [move, tighten, { expect }] = mine.slice(first, first + 3);
      return { do: move.do, pawl, steps: [move, tighten], expect };
    }
    const stale = known.findIndex((one) => !one.fresh);
    return stale >= 0 ? measure(stale) : { do: "done", pawl: "", steps: [], expect: null };
  }

  /** Plans anew from what is known after some rounds. */
  going(gaps, rounds, best = false) {
    let plan = this.plan(gaps, best);
    const known = this.known(plan.readings, rounds);
    if (rounds.length) {
      plan = this.plan(Object.fromEntries(known.map(({ gap, fresh }, i) =>
        [this.names[i], fresh ? gap : Math.max(gap, PAWL_LEAST)])), best);
    }
    return { known, plan, work: this.nextWork(plan, known) };
  }

  /** Turns of each clevis that was turned, all together; above zero they opened the gap. */
  netTurns(rounds) {
    const made = {};
    for (const { pawl, turns } of rounds) {
      if (typeof turns === "number") made[pawl] = (made[pawl] || 0) + turns;
    }
    return made;
  }
}
