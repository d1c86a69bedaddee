// What the desk sends as bytes: a head of JSON, then arrays, each at a multiple of four bytes.
import { isSignedOut, tellSignedOut } from "./signed_out.js";

const KINDS = { int16: Int16Array, uint32: Uint32Array, float32: Float32Array };
const BUSY = 503, AGAIN_S = 3;

export const unpacked = (buffer) => {
  const long = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, long)));
  const arrays = {};
  for (const one of head.arrays) arrays[one.name] = new KINDS[one.kind](buffer, 4 + long + one.at, one.count);
  return { head, arrays };
};

const pause = (seconds, signal) => new Promise((done, fail) => {
  const timer = setTimeout(done, 1000 * seconds);
  signal?.addEventListener("abort", () => { clearTimeout(timer); fail(signal.reason); }, { once: true });
});

// The answer at an address; a desk that is busy is asked again until it answers or nobody waits any more.
export const fetched = async (address, { signal, onBusy } = {}) => {
  for (;;) {
    const answer = await fetch(address, { signal });
    if (answer.ok) return answer;
    if (isSignedOut(answer)) tellSignedOut();
    if (answer.status !== BUSY) throw new Error(`${address}: ${answer.status}`);
    onBusy?.();
    await pause(Number(answer.headers.get("retry-after")) || AGAIN_S, signal);
  }
};

export const bytes = async (address, asking) => unpacked(await (await fetched(address, asking)).arrayBuffer());

// One moment at a time is asked for, the one that was wanted last: what is under way for another is given up. The last
// few answers are kept, so that a step back is drawn at once.
export class Newest {
  constructor(most) { this.most = most; this.kept = new Map(); this.going = null; }

  get(addresses, onBusy = () => {}) {
    const key = addresses.join(" ");
    if (this.going && this.going.key !== key) this.going.stop.abort();
    if (this.going?.key !== key) {
      const stop = new AbortController(), going = { key, stop };
      going.answer = Promise.all(addresses.map((one) => this.one(one, { signal: stop.signal, onBusy: () => going.onBusy() })));
      going.answer.catch(() => {}).finally(() => { if (this.going === going) this.going = null; });
      this.going = going;
    }
    this.going.onBusy = onBusy;
    return this.going.answer;
  }

  async one(address, asking) {
    const found = this.kept.get(address) ?? await bytes(address, asking);
    this.kept.delete(address);
    this.kept.set(address, found);
    while (this.kept.size > this.most) this.kept.delete(this.kept.keys().next().value);
    return found;
  }
}
