// What was entered, kept on this phone until it is sent; and the ids that let it be stored once.

/** A new id (RFC 9562, version 4); also where the browser has no randomUUID for a page of a file. */
function newId() {
  const b = crypto.getRandomValues(new Uint8Array(16));
  b[6] = (b[6] & 15) | 64;
  b[8] = (b[8] & 63) | 128;
  const hex = [...b].map((each) => each.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** CRC-32 of bytes as eight hexadecimal signs (ISO/IEC 3309; the polynomial of zlib). */
function crc32(bytes) {
  let crc = ~0;
  for (const byte of bytes) {
    crc ^= byte;
    for (let k = 0; k < 8; k++) crc = (crc >>> 1) ^ (0xedb88320 & -(crc & 1));
  }
  return (~crc >>> 0).toString(16).padStart(8, "0");
}

/** Everything kept on this phone for one machine; each change is written before it is said. */
class Kept {
  constructor(name, store) {
    this.key = `tripmargin card: ${name}`;
    this.store = store; // null: this browser keeps nothing for a page of a file
    this.trouble = "";
    this.all = { who: "", entries: [], cases: [], states: {}, sun: false };
    try {
      const text = store && store.getItem(this.key);
      if (text) this.all = { ...this.all, ...JSON.parse(text) };
    } catch (error) {
      this.trouble = say("What was kept here before cannot be read. It is left as it is under another name.");
      try { store.setItem(`${this.key} (not read)`, store.getItem(this.key)); } catch { this.store = null; }
    }
  }

  /** Change what is kept; whether it is kept for good. Another tab's additions are not lost. */
  change(how) {
    let others = null;
    try { others = this.store && JSON.parse(this.store.getItem(this.key) || "null"); } catch { others = null; }
    if (others) this.joinedWith(others);
    how(this.all);
    if (!this.store) return false;
    try {
      this.store.setItem(this.key, JSON.stringify(this.all));
      return true;
    } catch (error) {
      this.trouble = say("This phone keeps no more for this page. Send what is here before you close it.");
      return false;
    }
  }

  /** What another tab of the same card has added since; what was taken back here stays so. */
  joinedWith(others) {
    for (const list of ["entries", "cases"]) {
      for (const theirs of others[list] || []) {
        const mine = this.all[list].find((each) => each.uid === theirs.uid);
        if (!mine) this.all[list].push(theirs);
        else if (mine.lines) {
          const known = new Set([...mine.lines, ...(mine.taken_back || [])].map((line) => line.uid));
          const more = (theirs.lines || []).filter((line) => !known.has(line.uid));
          if (more.length) {
            mine.lines = [...mine.lines, ...more].sort((a, b) => a.at - b.at);
            mine.sent = false;
          }
        }
      }
    }
  }

  /** An entry for the log; `values` in SI as the log's kinds take them. */
  add(kind, values, note) {
    const entry = { uid: newId(), kind, at: new Date().toISOString(), values, note: note || "", sent: false };
    return this.change((all) => all.entries.push(entry));
  }

  get waiting() {
    return [...this.all.entries, ...this.all.cases.filter((each) => each.lines.length)]
      .filter((each) => !each.sent && !each.left_out).length;
  }

  /** The records to send: the exchange format of the log, in which an id is stored once. */
  records(machine, { again = false } = {}) {
    const who = this.all.who;
    const entries = this.all.entries.filter((each) => !each.left_out && (again || !each.sent)).map((each) => ({
      uid: each.uid, machine, kind: each.kind, at: each.at, who, values: each.values,
      ...(each.note ? { note: each.note } : {}), source: "card",
    }));
    const cases = this.all.cases.filter((each) => each.lines.length && (again || !each.sent)).map((each) => ({
      uid: each.uid, machine, who, digest: each.digest, begun: each.begun, status: each.status || "open",
      lines: each.lines.map(caseLine),
    }));
    return { tripmargin: "records", format: 1, entries, ...(cases.length ? { cases } : {}) };
  }

  sent() {
    return this.change((all) => {
      for (const each of [...all.entries, ...all.cases]) {
        if (!each.left_out) each.sent = true;
        for (const line of each.lines || []) line.sent = true;
      }
    });
  }
}

/** An answer as a case has it: what was found, what was mended, or why it was handed over. */
function caseLine({ uid, at, finding, note, failed_at, entry }) {
  const when = new Date(at).toISOString();
  if (entry.handOver) return { uid, at: when, kind: "hand over", why: finding };
  return {
    uid, at: when, ...(entry.check ? { kind: "finding", check: entry.check } : { kind: "repair", repair: entry.repair }),
    word: entry.word, ...(entry.reading === undefined ? {} : { reading: entry.reading }),
    ...(failed_at ? { failed_at } : {}), ...(note ? { note } : {}),
  };
}

/** The store of this browser, or null where it keeps nothing for such a page. */
function storeHere() {
  try {
    localStorage.setItem("tripmargin card: try", "1");
    localStorage.removeItem("tripmargin card: try");
    return localStorage;
  } catch {
    return null;
  }
}
