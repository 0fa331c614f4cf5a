// One plan's moves as steps in the trade's order, each with the gap to expect after it.

/** Goes through the moves and keeps what each gap should be, and how far off that may be. */
class PawlSequence {
  constructor(setting, readings, moves) {
    Object.assign(this, { setting, moves, us: setting.us, made: [] });
    this.gap = readings.slice();
    this.variance = readings.map(() => setting.doubt ** 2);
    this.ownVariance = setting.ownVariances(moves);
  }

  steps(order) {
    const last = order[order.length - 1];
    for (const i of order) this.move(i, i === last);
    this.measureAgain(order);
    this.made.push({ do: "prove", pawl: "", words: PawlWords.prove() });
    return this.made;
  }

  move(i, last) {
    const each = this.setting.pawls[i], own = this.moves.own[i], { pawl } = each;
    const before = this.gap[i], placed = before + own - each.shift_m;
    if (each.kind === "clevis") {
      const turns = this.moves.steps[i] * each.smallest_turn;
      const words = PawlWords.turn(each, turns, before, placed, this.us);
      this.made.push({ do: "turn", pawl, words, turns });
    } else {
      const step = this.setting.data.feeler_step_m;
      const gap = Math.max(PawlWords.whole(placed / step), 1) * step;
      this.made.push({ do: "place", pawl, words: PawlWords.slide(each, gap, before, this.us), gap });
      this.variance[i] = this.setting.doubt ** 2;
    }
    this.made.push({ do: "tighten", pawl, words: PawlWords.tighten(each, this.us) });
    this.moved(i, own);
    this.measure(i, last && !this.others(i), false);
  }

  moved(i, own) {
    const { coupling, coupling_sd } = this.setting.pawls[i], variance = this.ownVariance[i];
    this.gap.forEach((_, j) => {
      this.gap[j] += this.setting.along(j, i) * own;
      this.variance[j] += j === i ? variance : coupling ** 2 * variance + (coupling_sd * own) ** 2;
    });
  }

  /** Whether moving it moved another pawl, or may have. */
  others(i) {
    const { coupling, coupling_sd } = this.setting.pawls[i];
    return this.gap.length > 1 && (coupling !== 0 || coupling_sd > 0);
  }

  measure(i, last, again) {
    const { pawl, room_m } = this.setting.pawls[i];
    const half = PAWL_WIDE * Math.sqrt(this.variance[i] + this.setting.doubt ** 2);
    const expect = [Math.max(this.gap[i] - half, 0), this.gap[i] + half];
    const leave = last ? room_m : null;
    const words = PawlWords.measure(pawl, expect, leave, { last, again, us: this.us });
    this.made.push({ do: "measure", pawl, words, expect, leave });
  }

  /** Every pawl whose gap a later move may have changed, in the file's order. */
  measureAgain(order) {
    this.gap.forEach((_, i) => {
      const after = order.filter((j) => j !== i && (!order.includes(i) || j > i));
      if (after.some((j) => this.others(j))) this.measure(i, true, order.includes(i));
    });
  }
}
