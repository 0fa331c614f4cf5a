// A QR code of a text as rows of dark and light: byte mode, level M, of ISO/IEC 18004.
// The page has no network, so it draws its codes by itself; tests read them with another reader.

// Error correction codewords of each block, and blocks, by version, at level M (ISO/IEC 18004,
// table 9).
const QR_PER_BLOCK = [0, 10, 16, 26, 18, 24, 16, 18, 22, 22, 26, 30, 22, 22, 24, 24, 28, 28, 26, 26, 26];
const QR_BLOCKS = [0, 1, 1, 1, 2, 2, 4, 4, 4, 5, 5, 5, 8, 9, 9, 10, 10, 11, 13, 14, 16];
const QR_LEVEL_M = 0; // its two bits in the format

const QR_EXP = new Uint8Array(512), QR_LOG = new Uint8Array(256);
for (let k = 0, value = 1; k < 255; k++) {
  QR_EXP[k] = QR_EXP[k + 255] = value;
  QR_LOG[value] = k;
  value <<= 1;
  if (value & 0x100) value ^= 0x11d;
}
const qrTimes = (a, b) => (a && b ? QR_EXP[QR_LOG[a] + QR_LOG[b]] : 0);

/** Codewords that a version holds, error correction included. */
function qrCodewords(version) {
  let bits = (16 * version + 128) * version + 64;
  if (version >= 2) {
    const marks = Math.floor(version / 7) + 2;
    bits -= (25 * marks - 10) * marks - 55;
    if (version >= 7) bits -= 36;
  }
  return Math.floor(bits / 8);
}

const qrRoom = (version) => qrCodewords(version) - QR_PER_BLOCK[version] * QR_BLOCKS[version];

/** Bytes that a text may have in a version. */
const qrMost = (version) => qrRoom(version) - (version < 10 ? 2 : 3);

function qrRemainder(data, count) {
  let divisor = [1];
  for (let k = 0; k < count; k++) {
    const next = new Array(divisor.length + 1).fill(0);
    divisor.forEach((each, i) => { next[i] ^= each; next[i + 1] ^= qrTimes(each, QR_EXP[k]); });
    divisor = next;
  }
  const rest = new Array(count).fill(0);
  for (const byte of data) {
    const factor = byte ^ rest.shift();
    rest.push(0);
    for (let i = 0; i < count; i++) rest[i] ^= qrTimes(divisor[i + 1], factor);
  }
  return rest;
}

/** All codewords in the order in which they are laid: blocks side by side. */
function qrLaid(bytes, version) {
  const bits = [], put = (value, length) => {
    for (let k = length - 1; k >= 0; k--) bits.push((value >>> k) & 1);
  };
  put(4, 4);
  put(bytes.length, version < 10 ? 8 : 16);
  for (const byte of bytes) put(byte, 8);
  const room = qrRoom(version) * 8;
  put(0, Math.min(4, room - bits.length));
  put(0, (8 - (bits.length % 8)) % 8);
  for (let pad = 0xec; bits.length < room; pad ^= 0xec ^ 0x11) put(pad, 8);
  const data = [];
  for (let k = 0; k < bits.length; k += 8) data.push(parseInt(bits.slice(k, k + 8).join(""), 2));
  const count = QR_BLOCKS[version], each = QR_PER_BLOCK[version];
  const short = Math.floor(data.length / count), longer = data.length % count;
  const blocks = [], checks = [];
  for (let k = 0, at = 0; k < count; k++) {
    const size = short + (k >= count - longer ? 1 : 0);
    blocks.push(data.slice(at, at + size));
    checks.push(qrRemainder(blocks[k], each));
    at += size;
  }
  const laid = [];
  for (let k = 0; k <= short; k++) for (const block of blocks) if (k < block.length) laid.push(block[k]);
  for (let k = 0; k < each; k++) for (const check of checks) laid.push(check[k]);
  return laid;
}

function qrMarks(version) {
  if (version === 1) return [];
  const count = Math.floor(version / 7) + 2, size = version * 4 + 17;
  const step = Math.floor((version * 8 + count * 3 + 5) / (count * 4 - 4)) * 2;
  const found = [6];
  for (let at = size - 7; found.length < count; at -= step) found.splice(1, 0, at);
  return found;
}

const QR_MASKS = [
  (x, y) => (x + y) % 2, (x, y) => y % 2, (x) => x % 3, (x, y) => (x + y) % 3,
  (x, y) => (Math.floor(x / 3) + Math.floor(y / 2)) % 2, (x, y) => ((x * y) % 2) + ((x * y) % 3),
  (x, y) => (((x * y) % 2) + ((x * y) % 3)) % 2, (x, y) => (((x + y) % 2) + ((x * y) % 3)) % 2,
];

/** Rows of true (dark) and false for a text; the least version that it fits in, from `least`. */
function qrCode(text, least = 1) {
  const bytes = new TextEncoder().encode(text);
  let version = least;
  while (version < QR_BLOCKS.length && bytes.length > qrMost(version)) version++;
  if (version >= QR_BLOCKS.length) throw new RangeError("too long a text for a code");
  const size = version * 4 + 17;
  const grid = Array.from({ length: size }, () => new Array(size).fill(false));
  const fixed = Array.from({ length: size }, () => new Array(size).fill(false));
  const set = (x, y, dark) => { grid[y][x] = Boolean(dark); fixed[y][x] = true; };
  for (let k = 0; k < size; k++) { set(6, k, k % 2 === 0); set(k, 6, k % 2 === 0); }
  for (const [cx, cy] of [[3, 3], [size - 4, 3], [3, size - 4]]) {
    for (let dy = -4; dy <= 4; dy++) for (let dx = -4; dx <= 4; dx++) {
      const far = Math.max(Math.abs(dx), Math.abs(dy)), x = cx + dx, y = cy + dy;
      if (x >= 0 && x < size && y >= 0 && y < size) set(x, y, far !== 2 && far !== 4);
    }
  }
  const marks = qrMarks(version), last = marks.length - 1;
  marks.forEach((cx, i) => marks.forEach((cy, j) => {
    if ((i === 0 && j === 0) || (i === 0 && j === last) || (i === last && j === 0)) return;
    for (let dy = -2; dy <= 2; dy++) for (let dx = -2; dx <= 2; dx++) {
      set(cx + dx, cy + dy, Math.max(Math.abs(dx), Math.abs(dy)) !== 1);
    }
  }));
  const format = (mask) => {
    let rest = (QR_LEVEL_M << 3) | mask;
    const data = rest;
    for (let k = 0; k < 10; k++) rest = (rest << 1) ^ ((rest >>> 9) * 0x537);
    const bits = ((data << 10) | rest) ^ 0x5412, bit = (k) => (bits >>> k) & 1;
    for (let k = 0; k <= 5; k++) set(8, k, bit(k));
    set(8, 7, bit(6)); set(8, 8, bit(7)); set(7, 8, bit(8));
    for (let k = 9; k < 15; k++) set(14 - k, 8, bit(k));
    for (let k = 0; k < 8; k++) set(size - 1 - k, 8, bit(k));
    for (let k = 8; k < 15; k++) set(8, size - 15 + k, bit(k));
    set(8, size - 8, true);
  };
  format(0);
  if (version >= 7) {
    let rest = version;
    for (let k = 0; k < 12; k++) rest = (rest << 1) ^ ((rest >>> 11) * 0x1f25);
    const bits = (version << 12) | rest;
    for (let k = 0; k < 18; k++) {
      const a = size - 11 + (k % 3), b = Math.floor(k / 3);
      set(a, b, (bits >>> k) & 1); set(b, a, (bits >>> k) & 1);
    }
  }
  const laid = qrLaid(bytes, version);
  let at = 0;
  for (let right = size - 1; right >= 1; right -= 2) {
    if (right === 6) right = 5;
    for (let k = 0; k < size; k++) for (let j = 0; j < 2; j++) {
      const x = right - j, y = ((right + 1) & 2) === 0 ? size - 1 - k : k;
      if (!fixed[y][x] && at < laid.length * 8) {
        grid[y][x] = ((laid[at >>> 3] >>> (7 - (at & 7))) & 1) === 1;
        at++;
      }
    }
  }
  let best = null;
  for (let mask = 0; mask < 8; mask++) {
    format(mask);
    const made = grid.map((row, y) => row.map((dark, x) => dark !== (!fixed[y][x] && QR_MASKS[mask](x, y) === 0)));
    const cost = qrPenalty(made);
    if (best === null || cost < best.cost) best = { cost, made };
  }
  return best.made;
}

/** How hard a pattern is to read: runs, blocks and an uneven share of dark (ISO/IEC 18004, 7.8.3). */
function qrPenalty(rows) {
  const size = rows.length;
  let found = 0, dark = 0;
  const line = (at) => {
    let run = 0, before = null;
    for (let k = 0; k < size; k++) {
      run = at(k) === before ? run + 1 : 1;
      before = at(k);
      if (run === 5) found += 3; else if (run > 5) found += 1;
    }
  };
  for (let a = 0; a < size; a++) {
    line((k) => rows[a][k]);
    line((k) => rows[k][a]);
    for (let b = 0; b < size; b++) {
      if (rows[a][b]) dark++;
      if (a && b && rows[a][b] === rows[a - 1][b] && rows[a][b] === rows[a][b - 1]
          && rows[a][b] === rows[a - 1][b - 1]) found += 3;
    }
  }
  return found + Math.floor(Math.abs((dark * 20) / (size * size) - 10)) * 10;
}
