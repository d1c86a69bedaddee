// What the desk sends as bytes: a head of JSON, then arrays, each at a multiple of four bytes.
const KINDS = { int16: Int16Array, uint32: Uint32Array, float32: Float32Array };

export const unpacked = (buffer) => {
  const long = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, long)));
  const arrays = {};
  for (const one of head.arrays) arrays[one.name] = new KINDS[one.kind](buffer, 4 + long + one.at, one.count);
  return { head, arrays };
};

export const fetched = async (address, signal) => {
  const answer = await fetch(address, { signal });
  if (!answer.ok) throw new Error(`${address}: ${answer.status}`);
  return answer;
};

export const bytes = async (address, signal) => unpacked(await (await fetched(address, signal)).arrayBuffer());

// The last few answers are kept, so that a step back is drawn at once.
export class Kept {
  constructor(most) { this.most = most; this.held = new Map(); }
  get(address) {
    let found = this.held.get(address);
    if (found) this.held.delete(address);
    else { found = bytes(address); found.catch(() => this.held.delete(address)); }
    this.held.set(address, found);
    while (this.held.size > this.most) this.held.delete(this.held.keys().next().value);
    return found;
  }
}
