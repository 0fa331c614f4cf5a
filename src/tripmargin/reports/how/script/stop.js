// One stop on its clock: what is so at any instant, from the numbers that Python worked out.

const NOW = 1e-9; // s; an instant counts from itself on

/** A curve at an instant, straight between its points, held outside them. */
function onCurve(t, times, values) {
  if (!times.length || t <= times[0]) return values.length ? values[0] : 0;
  const last = times.length - 1;
  if (t >= times[last]) return values[last];
  let low = 0, high = last;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (times[middle] <= t) low = middle; else high = middle;
  }
  const wide = times[high] - times[low];
  return wide > 0 ? values[low] + (values[high] - values[low]) * (t - times[low]) / wide : values[high];
}

class Stop {
  constructor(line) { this.line = line; }

  /** Of the metal, or of a mark in the crop, m past the sensor's axis. */
  place(t) {
    const { start, speed, catch: caught, rest, way } = this.line;
    if (caught === null || t <= caught) return start + speed * t;
    if (way === null) return start + speed * t;
    const part = rest > 0 ? Math.min((t - caught) / rest, 1) : 1;
    return start + speed * caught + way * part * (2 - part);
  }

  /** How far the rolls' surface has gone since the instant 0, m. */
  surface(t) { return (this.place(t) - this.line.start) * this.line.roll_speed / this.line.speed; }

  passed(t, instant) { return instant !== null && instant !== undefined && t + NOW >= instant; }

  /** The last instant that has come, by its number. */
  number(t) {
    let found = 0;
    this.line.instants.forEach((each, k) => { if (this.passed(t, each.t)) found = k; });
    return found;
  }

  at(t) {
    const { line } = this, passed = (instant) => this.passed(t, instant);
    const opened = line.caught && passed(line.opens);
    return {
      t,
      place: this.place(t),
      tripped: passed(line.trip),
      fed: !opened,
      winding: !opened ? "holds" : passed(line.lets_go) ? "let go" : "dies",
      current: line.current && onCurve(t, line.current.t, line.current.i),
      plunger: passed(line.out) ? "out" : passed(line.lets_go) ? "falls" : "held in",
      out: passed(line.lets_go) ? onCurve(t, line.plunger.t, line.plunger.x) : 0,
      pawls: line.pawls.map((pawl) => ({
        name: pawl.name,
        called: pawl.called,
        doing: passed(pawl.caught) ? "caught" : passed(pawl.ends) ? "waits for a tooth"
          : passed(pawl.begins) ? "swings" : "held out",
        swung: passed(pawl.begins) ? onCurve(t, pawl.t, pawl.x) : 0,
      })),
      rolls: passed(line.stands) ? "stand" : passed(line.catch) ? "slow down" : "turn",
      through: line.instants.some((each) => each.name === "through" && passed(each.t)),
      voltage: line.voltage && t <= line.voltage.t[line.voltage.t.length - 1] + NOW
        ? onCurve(t, line.voltage.t, line.voltage.v) : null,
      instant: line.instants[this.number(t)],
    };
  }
}
