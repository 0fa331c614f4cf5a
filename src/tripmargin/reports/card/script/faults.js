// What is believed of a machine, and what to look at next: the same sums as the program's own
// room for finding faults, so that a page without a network proposes the same next check.
// Names follow that room: situation, belief, look, repair; minutes, chances from 0 to 1, nat.

const NOTHING = 1e-12; // below this a chance or a gain of information is rounding
const CURED = -1;
const KEPT = 100, EQUALS = 50; // hypotheses that the choice is made over
const SURE = 0.9, SLIGHT = 0.02, WIDE = 24, TELLS_NOTHING = 1e-9;
const LEFT_OPEN = 0.01;
const OPEN = "open", PROVING = "proving", CLOSED = "closed", HANDED_OVER = "handed over";
const ASK = "complaint", PROVE_AGAIN = "prove again", HAND_OVER = "hand over";

const sum = (numbers) => numbers.reduce((a, b) => a + b, 0);
const dot = (a, b) => { let s = 0; for (let k = 0; k < a.length; k++) s += a[k] * b[k]; return s; };
const term = (x) => (x > 0 ? -x * Math.log(x) : 0);
const rounded = (x) => (Number.isFinite(x) ? Math.round(x * 1e9) / 1e9 : x);

/** A machine's problem, from the data that the program wrote into the page. */
class Problem {
  constructor(data) {
    this.data = data;
    this.count = data.prior.length;
    this.checks = data.checks;
    this.repairs = data.repairs;
    this.nothing = data.nothing;
    this.other = this.count - 1; // "something else" is the last
    this.numbers = new Map();
    this.checks.forEach((each, k) => this.numbers.set("check:" + each.id, k));
    this.repairs.forEach((each, k) => this.numbers.set("repair:" + each.id, this.checks.length + k));
    this.left = this.repairs.map((each) => {
      const left = Array.from({ length: this.count }, (_, h) => h);
      for (const [h, rest] of each.left) left[h] = rest;
      return left;
    });
    this.fix = data.states.map((_, s) => this.repairs.map((each) =>
      data.move[s][each.state] + each.minutes + data.move[each.state][data.verify]
      + data.verify_minutes));
    this.known = this.knownMinutes();
  }

  /** Chance of a word of a check under each hypothesis. */
  chances(check, word) {
    const { rows, answers } = this.checks[check], values = this.data.values;
    return answers.map((row) => values[rows[row][word]]);
  }

  /** Minutes for somebody who knows the hypothesis, from each state. */
  knownMinutes() {
    const states = this.data.states.length, verify = this.data.verify;
    let known = Array.from({ length: this.count }, () => new Array(states).fill(Infinity));
    for (let round = 0; round < 2; round++) { // the second round is for pairs that need two repairs
      known = known.map((before, h) => before.map((least, s) => {
        for (let r = 0; r < this.repairs.length; r++) {
          const rest = this.left[r][h];
          if (rest === h) continue;
          const more = rest === CURED ? 0 : known[rest][verify];
          least = Math.min(least, more + this.fix[s][r]);
        }
        return least;
      }));
    }
    return known;
  }
}

/** Where a case stands at its start. */
function start(problem) {
  return {
    belief: problem.data.prior.slice(),
    used: new Array(problem.checks.length).fill(false),
    state: problem.data.rest,
  };
}

function believed(problem, weight) {
  const total = sum(weight);
  if (total > 0) return weight.map((each) => each / total);
  return weight.map((_, h) => (h === problem.other ? 1 : 0)); // nothing that is listed explains it
}

function observed(problem, situation, check, word) {
  const chances = problem.chances(check, word), used = situation.used.slice();
  used[check] = true;
  return {
    belief: believed(problem, situation.belief.map((each, h) => each * chances[h])),
    used, state: problem.checks[check].state,
  };
}

/** Every look is made anew after a repair, but for the complaint and what the test just made. */
function afresh(problem, situation, made) {
  const used = new Array(problem.checks.length).fill(false);
  for (const check of made || []) used[check] = true;
  used[0] = true;
  return { ...situation, used };
}

function passed(problem, situation, repair, again) {
  const left = problem.left[repair], daily = problem.data.daily;
  const chances = again ? daily.passes_again : daily.passes;
  const weight = new Array(problem.count).fill(0);
  situation.belief.forEach((each, h) => {
    if (left[h] === CURED) weight[problem.nothing] += each;
    else weight[left[h]] += each * chances[left[h]];
  });
  const belief = believed(problem, weight);
  return afresh(problem, { belief, used: situation.used, state: problem.data.verify }, daily.makes);
}

function failed(problem, situation, repair, step) {
  const left = problem.left[repair], daily = problem.data.daily;
  const weight = new Array(problem.count).fill(0);
  situation.belief.forEach((each, h) => { if (left[h] !== CURED) weight[left[h]] += each; });
  const after = believed(problem, weight);
  const chances = step ? daily.fails_at[step - 1] : daily.fails;
  const belief = believed(problem, after.map((each, h) => each * chances[h]));
  return afresh(problem, { belief, used: situation.used, state: problem.data.rest });
}

const doubtLeft = (problem, situation) => Math.max(1 - situation.belief[problem.nothing], 0);

/** A problem over the likeliest hypotheses, and over what repairs leave of them. */
class Narrowed {
  constructor(problem, situation) {
    this.problem = problem;
    const kept = this.kept = this.keep(situation.belief);
    const number = new Map(kept.map((h, k) => [h, k]));
    this.left = problem.left.map((left) => kept.map((h) => number.get(left[h]) ?? CURED));
    this.known = kept.map((h) => problem.known[h]);
    const values = problem.data.values;
    this.tables = problem.checks.map(({ rows, answers }) => {
      const lists = rows.map((row) => row.map((each) => values[each]));
      const blurs = lists.map((list) => sum(list.map(term)));
      return { rows: lists, blurs, answers: kept.map((h) => answers[h]) };
    });
  }

  keep(belief) {
    let chosen = [];
    belief.forEach((each, h) => { if (each !== 0) chosen.push(h); });
    if (chosen.length > KEPT) {
      const order = chosen.slice().sort((a, b) => belief[b] - belief[a] || a - b);
      const last = belief[order[KEPT - 1]];
      const above = order.filter((h) => belief[h] > last * (1 + 1e-9)).length;
      const equals = order.filter((h) => belief[h] >= last * (1 - 1e-9)).length;
      chosen = order.slice(0, equals <= KEPT + EQUALS ? equals : above >= EQUALS ? above : KEPT);
    }
    const wanted = new Set(chosen);
    for (const left of this.problem.left) {
      for (const h of chosen) if (left[h] !== CURED) wanted.add(left[h]);
    }
    return [...wanted].sort((a, b) => a - b);
  }

  root(situation) {
    const belief = this.kept.map((h) => situation.belief[h]), total = sum(belief);
    return { belief: belief.map((each) => each / total), used: situation.used, state: situation.state };
  }

  /** Cost, information and use of every action; actions are numbered checks first. */
  weigh({ belief, used, state }) {
    const problem = this.problem, { move, verify } = problem.data;
    const known = move.map((_, s) => sum(belief.map((each, h) => (each > 0 ? each * this.known[h][s] : 0))));
    const now = known[state], terms = belief.map(term), doubt = sum(terms);
    const avoidable = [], information = [], useful = [], spent = [];
    this.tables.forEach((table, c) => {
      const weight = table.rows.map(() => 0);
      belief.forEach((each, h) => { weight[table.answers[h]] += each; });
      let gain = -dot(weight, table.blurs);
      for (let word = 0; word < table.rows[0].length; word++) {
        let shown = 0;
        for (let row = 0; row < weight.length; row++) shown += weight[row] * table.rows[row][word];
        gain += term(shown);
      }
      spent.push(used[c] && gain > NOTHING);
      if (spent[c]) gain = 0;
      const check = problem.checks[c];
      information.push(gain);
      useful.push(gain > NOTHING);
      avoidable.push(move[state][check.state] + check.minutes + known[check.state] - now);
    });
    const share = [];
    this.left.forEach((left, r) => {
      let cured = 0, touched = 0, rest = 0, kept = doubt;
      const inflow = new Map();
      belief.forEach((each, h) => {
        if (left[h] !== CURED && each > 0) rest += each * this.known[left[h]][verify];
        if (left[h] === h) return;
        touched += each;
        kept -= terms[h];
        if (left[h] === CURED) { cured += each; return; }
        inflow.set(left[h], (inflow.get(left[h]) || 0) + each);
      });
      for (const [h, more] of inflow) kept += term(belief[h] + more) - terms[h];
      kept -= term(Math.min(Math.max(1 - cured, 0), 1));
      avoidable.push(problem.fix[state][r] + rest - now);
      information.push(doubt - kept);
      useful.push(touched > NOTHING);
      share.push((cured + touched) / 2);
    });
    return { avoidable, information, useful, spent, doubt, share, fix: problem.fix[state] };
  }

  ratios(weights) {
    return weights.avoidable.map((minutes, a) =>
      (weights.useful[a] ? Math.max(minutes, 0) / Math.max(weights.information[a], NOTHING) : Infinity));
  }

  /** The least is best; where no look can tell anything, repairs go by minutes over chance. */
  merit(weights) {
    const ratios = this.ratios(weights), checks = this.tables.length;
    const telling = weights.useful.slice(0, checks).some(Boolean) || weights.spent.some(Boolean);
    if (telling) return ratios;
    return ratios.map((ratio, a) => {
      if (a < checks) return ratio;
      if (!weights.useful[a]) return Infinity;
      if (weights.doubt <= NOTHING) return weights.avoidable[a];
      return weights.fix[a - checks] / Math.max(weights.share[a - checks], NOTHING);
    });
  }

  /** Minutes from a check's state on to the daily test: settles what is equal otherwise. */
  onward(action) {
    const checks = this.problem.checks, { move, verify } = this.problem.data;
    return action < checks.length ? move[checks[action].state][verify] : 0;
  }

  best(weights) {
    const merit = this.merit(weights), least = Math.min(...merit);
    if (!Number.isFinite(least)) return -1;
    const limit = least * (1 + 1e-9) + 1e-9;
    const near = merit.map((each, a) => (each <= limit ? weights.avoidable[a] : Infinity));
    const fewest = Math.min(...near) + 1e-9;
    let found = -1, shortest = Infinity;
    near.forEach((minutes, a) => {
      if (minutes <= fewest && this.onward(a) < shortest) { shortest = this.onward(a); found = a; }
    });
    return found;
  }

  bestFew(weights, count) {
    const merit = this.merit(weights);
    const order = merit.map((_, a) => a).filter((a) => Number.isFinite(merit[a]));
    order.sort((a, b) => rounded(merit[a]) - rounded(merit[b])
      || rounded(weights.avoidable[a]) - rounded(weights.avoidable[b])
      || this.onward(a) - this.onward(b) || a - b);
    return order.slice(0, count);
  }

  /** Avoidable minutes to expect with an action: its own, and what the index judges of the rest. */
  worth(root, weights, action) {
    const problem = this.problem, checks = problem.checks.length;
    let found = Math.max(weights.avoidable[action], 0);
    const follow = (weight, used, state) => {
      const chance = sum(weight);
      if (chance <= NOTHING) return;
      const belief = weight.map((each) => (each / chance < NOTHING ? 0 : each / chance));
      const later = this.weigh({ belief, used, state }), least = Math.min(...this.ratios(later));
      found += chance * later.doubt * (Number.isFinite(least) ? least : 0);
    };
    if (action < checks) {
      const used = root.used.slice(), table = this.tables[action];
      used[action] = true;
      for (let word = 0; word < table.rows[0].length; word++) {
        const weight = root.belief.map((each, h) => each * table.rows[table.answers[h]][word]);
        follow(weight, used, problem.checks[action].state);
      }
    } else {
      const left = this.left[action - checks], weight = root.belief.map(() => 0);
      root.belief.forEach((each, h) => { if (left[h] !== CURED) weight[left[h]] += each; });
      follow(weight, root.used.map(() => false), problem.data.verify);
    }
    return found;
  }
}

/** Proposes what to do next on one machine. */
class Adviser {
  constructor(problem) { this.problem = problem; }

  /** The best n actions, the first of them worth doing now. */
  actions(situation, n, proving) {
    if (proving) return this.proofSteps(situation, n, true);
    let found = this.heldBack(situation);
    if (!found.length) return this.proofSteps(situation, n, false);
    found = found.slice(0, n);
    const checks = this.problem.checks.length, used = situation.used.slice();
    while (found.length < n && found[found.length - 1].number < checks) {
      used[found[found.length - 1].number] = true;
      const more = this.heldBack({ ...situation, used: used.slice() });
      if (!more.length) break;
      found.push(more[0]);
    }
    return found;
  }

  heldBack(situation) {
    const problem = this.problem, checks = problem.checks.length;
    const narrow = new Narrowed(problem, situation), root = narrow.root(situation);
    const weights = narrow.weigh(root), first = narrow.best(weights);
    let needed = 0;
    situation.belief.forEach((each, h) => { if (each > 0) needed += each * problem.known[h][situation.state]; });
    const rate = (number) => ({
      number, cost: weights.avoidable[number], beyond: narrow.worth(root, weights, number),
    });
    const done = ({ number, beyond }) => ({ number, expected: beyond + needed });
    if (first >= 0 && first < checks) return [done(rate(first))];
    const wide = narrow.bestFew(weights, WIDE).map(rate).sort((a, b) =>
      rounded(a.beyond) - rounded(b.beyond) || Math.max(a.cost, 0) - Math.max(b.cost, 0));
    const telling = wide.some((each) => each.number < checks);
    const keeps = ({ number }) => this.keeps(situation, number, telling);
    const alone = first >= 0 ? [rate(first)].filter(keeps) : [];
    return (alone.length ? alone : wide.filter(keeps)).map(done);
  }

  keeps(situation, number, telling) {
    const problem = this.problem, checks = problem.checks.length;
    if (number < checks) return true;
    const work = problem.repairs[number - checks], left = problem.left[number - checks];
    if (work.id === PROVE_AGAIN) return this.tells(situation, number, false) > SLIGHT;
    if (!work.module || !telling) return true;
    return sum(situation.belief.filter((_, h) => left[h] === CURED)) >= SURE;
  }

  /** Lists of chances under each hypothesis, one for each thing that may come of an action. */
  outcomes(number, again) {
    const { checks, data } = this.problem;
    if (number < checks.length) return checks[number].words.map((_, k) => this.problem.chances(number, k));
    const passes = again ? data.daily.passes_again : data.daily.passes;
    return [passes, passes.map((each) => 1 - each)];
  }

  /** What an action tells about whether the machine is sound, nat. */
  tells(situation, number, again) {
    const entropy = (chance) => {
      const p = Math.min(Math.max(chance, 1e-15), 1 - 1e-15);
      return -p * Math.log(p) - (1 - p) * Math.log(1 - p);
    };
    const sound = situation.belief[this.problem.nothing];
    let found = entropy(sound);
    for (const chances of this.outcomes(number, again)) {
      const chance = dot(situation.belief, chances);
      found -= chance * entropy((sound * chances[this.problem.nothing]) / Math.max(chance, 1e-300));
    }
    return found;
  }

  minutes(situation, number) {
    const { checks, data, fix } = this.problem;
    if (number >= checks.length) return fix[situation.state][number - checks.length];
    return data.move[situation.state][checks[number].state] + checks[number].minutes;
  }

  /** After a daily test that passed: what tells most about soundness for each minute. */
  proofSteps(situation, n, again) {
    const problem = this.problem, test = problem.numbers.get("repair:" + PROVE_AGAIN);
    const ways = problem.checks.map((_, k) => k).filter((k) => !situation.used[k] && k !== 0);
    const rated = [...ways, test].map((number) => ({
      number, told: this.tells(situation, number, again), expected: this.minutes(situation, number),
    })).filter((each) => each.told > TELLS_NOTHING);
    rated.sort((a, b) => b.told / b.expected - a.told / a.expected || a.number - b.number);
    if (rated.length) return rated.slice(0, n);
    const number = problem.numbers.get("repair:" + HAND_OVER);
    return [{ number, expected: this.minutes(situation, number) }];
  }
}

/** A case: what was entered, and what is believed after it. Entries: {check, word} for a look,
 * {repair, word, failed_at?}, {handOver}; each with `at`, milliseconds. */
class FaultCase {
  constructor(problem, entries, restAfter = Infinity) {
    this.problem = problem;
    this.entries = entries;
    this.restAfter = restAfter;
    this.adviser = new Adviser(problem);
    this.moments = [{ situation: start(problem), status: OPEN }];
    entries.forEach((_, k) => this.moments.push(this.rested(this.after(this.moments[k], entries[k]), k)));
  }

  get now() { return this.moments[this.moments.length - 1]; }

  after(before, entry) {
    const problem = this.problem, checks = problem.checks.length;
    if (entry.check !== undefined) {
      const number = problem.numbers.get("check:" + entry.check);
      const word = problem.checks[number].words.indexOf(entry.word);
      const situation = observed(problem, before.situation, number, word);
      return { situation, status: this.status(before.status, situation) };
    }
    if (entry.repair !== undefined) {
      const number = problem.numbers.get("repair:" + entry.repair) - checks;
      if (entry.word === "passed") {
        const again = before.status === PROVING;
        const situation = passed(problem, before.situation, number, again);
        return { situation, status: this.status(PROVING, situation) };
      }
      return { situation: failed(problem, before.situation, number, entry.failed_at), status: OPEN };
    }
    return { situation: before.situation, status: HANDED_OVER };
  }

  status(before, situation) {
    if (before !== PROVING && before !== CLOSED) return OPEN;
    const left = doubtLeft(this.problem, situation);
    return left <= LEFT_OPEN ? CLOSED : left <= 0.5 ? PROVING : OPEN;
  }

  /** Where nothing was entered for so long the machine was left: it stands at rest since. */
  rested(moment, k) {
    const next = k + 1 < this.entries.length ? this.entries[k + 1].at : Date.now();
    if (!(next - this.entries[k].at > this.restAfter)) return moment;
    return { ...moment, situation: { ...moment.situation, state: this.problem.data.rest } };
  }

  /** The best n things to do next; none at the end. */
  next(n = 1) {
    const { situation, status } = this.now;
    if (status === CLOSED || status === HANDED_OVER) return [];
    return this.adviser.actions(situation, n, status === PROVING);
  }

  /** Chance of each fault, its strengths together, the likeliest first. */
  suspects() {
    const { family, hypotheses } = this.problem.data, belief = new Map();
    this.now.situation.belief.forEach((each, h) => {
      belief.set(family[h], (belief.get(family[h]) || 0) + each);
    });
    return [...belief].sort((a, b) => b[1] - a[1] || a[0] - b[0])
      .map(([h, chance]) => ({ id: hypotheses[h].id, said: hypotheses[h].said, chance }));
  }
}
