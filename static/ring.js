/**
 * The comb that rings: an audio processor with one bank of oscillators a tooth. It imports nothing, since not every browser's audio thread
 * can. What it is told to do, it does at the very sample.
 *
 * @typedef {{ hz: number[], level: number[], fallS: number[], dampS: number }} Voice
 * @typedef {{ kind: "comb", teeth: Voice[] }
 *   | { kind: "cues", frame: ArrayLike<number>, what: ArrayLike<number>, tooth: ArrayLike<number>, seed: ArrayLike<number> }
 *   | { kind: "clear", frame: number }
 *   | { kind: "hush" }
 *   | { kind: "alone", frame: number, voice: Voice, seed: number }} Message
 *   comb: the teeth from now on; cues: in the order in which they are done; clear: forget cues from a frame on; hush: still every tooth;
 *   alone: one pluck of a tooth beside the comb, which stills the one before
 * @typedef {{ frame: number, what: number, seed: number, tooth: Tooth, alone: boolean }} Due
 */

/** @typedef {{ port: { onmessage: ((event: { data: any }) => void) | null } }} Processor */
const scope = /** @type {{ AudioWorkletProcessor?: new () => Processor, registerProcessor?: (name: string, made: Function) => void, sampleRate: number, currentFrame: number }} */ (
  /** @type {unknown} */ (globalThis)
);
const Base = scope.AudioWorkletProcessor ?? /** @type {new () => Processor} */ (class { port = { onmessage: null }; });

/** As in voice.js. */
const PLUCK = 0;
const TOUCH = 1;
const HOLD = 2;

/** One tooth's share of full scale: four teeth together stay below the limiter's knee. */
const GAIN = 0.2;
const KNEE = 0.8;
const CEILING = 0.98;
/** In what time the limiter lets go, to 1/e. */
const RELEASE_S = 0.15;

const NOISE_S = 0.004;
const PLUCK_NOISE = 10 ** (-34 / 20);
const TOUCH_NOISE = 10 ** (-46 / 20);
const NOISE_HZ = 5000;

/** A pin stops a tooth so fast, a hand or another comb so slowly: the time for 60 dB. */
const HOLD_S = 0.001;
const HUSH_S = 0.2;

/** Below this a tooth is still. */
const STILL = 1e-10;

/** A tooth: for each partial a pointer that is turned and shortened once a sample. Nothing is allocated when it is plucked. */
class Tooth {
  rings = false;
  level = new Float64Array();
  freeCos = new Float64Array();
  freeSin = new Float64Array();
  dampS = 0;

  /** @param {Voice} voice */
  constructor(voice) {
    this.hz = voice.hz[0];
    this.count = voice.hz.length;
    this.re = new Float64Array(this.count);
    this.im = new Float64Array(this.count);
    this.cos = new Float64Array(this.count);
    this.sin = new Float64Array(this.count);
    this.tune(voice);
  }

  /**
   * Sets how it sounds from its next pluck on.
   * @param {Voice} voice  of the same frequency
   */
  tune({ hz, level, fallS, dampS }) {
    const fall = hz.map((_, n) => Math.exp(-1 / (fallS[n] * scope.sampleRate)));
    const angle = hz.map((f) => (2 * Math.PI * f) / scope.sampleRate);
    this.level = Float64Array.from(level);
    this.freeCos = Float64Array.from(hz, (_, n) => fall[n] * Math.cos(angle[n]));
    this.freeSin = Float64Array.from(hz, (_, n) => fall[n] * Math.sin(angle[n]));
    this.dampS = dampS;
  }

  /** Lets it go, displaced and at rest: its velocity starts from 0. */
  pluck() {
    this.rings = true;
    this.re.set(this.level);
    this.im.fill(0);
    this.cos.set(this.freeCos);
    this.sin.set(this.freeSin);
  }

  /**
   * Falls by a further 60 dB in a time.
   * @param {number} seconds
   */
  damp(seconds) {
    const fall = 10 ** (-3 / Math.max(1, seconds * scope.sampleRate));
    for (let n = 0; n < this.count; n++) {
      this.cos[n] *= fall;
      this.sin[n] *= fall;
    }
  }

  /**
   * @param {Float64Array} out
   * @param {number} from
   * @param {number} to
   */
  add(out, from, to) {
    for (let n = 0; n < this.count; n++) {
      const c = this.cos[n];
      const s = this.sin[n];
      let re = this.re[n];
      let im = this.im[n];
      for (let i = from; i < to; i++) {
        out[i] += im;
        const turned = re * c - im * s;
        im = re * s + im * c;
        re = turned;
      }
      this.re[n] = re;
      this.im[n] = im;
    }
  }

  /** Lets it be still where nothing of it is heard any more. */
  rest() {
    let energy = 0;
    for (let n = 0; n < this.count; n++) energy += this.re[n] * this.re[n] + this.im[n] * this.im[n];
    this.rings = energy >= STILL;
  }
}

/** A short burst of low-passed noise, the same each time for the same seed. */
class Noise {
  /**
   * @param {number} level
   * @param {number} seed
   */
  constructor(level, seed) {
    this.level = level;
    this.state = Math.imul(seed, 0x9e3779b1) | 1;
    this.length = Math.round(NOISE_S * scope.sampleRate);
    this.left = this.length;
    this.pole = Math.exp((-2 * Math.PI * NOISE_HZ) / scope.sampleRate);
    this.last = 0;
  }

  /**
   * @param {Float64Array} out
   * @param {number} from
   * @param {number} to
   */
  add(out, from, to) {
    for (let i = from; i < to && this.left > 0; i++, this.left--) {
      this.state ^= this.state << 13;
      this.state ^= this.state >>> 17;
      this.state ^= this.state << 5;
      this.last = this.pole * this.last + (1 - this.pole) * (this.state / 2 ** 31);
      out[i] += (this.level * this.last * this.left) / this.length;
    }
  }
}

export class Ring extends Base {
  /** @param {{ processorOptions?: { messages?: Message[] } }} [options]  messages: what is to be done from the start */
  constructor(options) {
    super();
    /** @type {Tooth[]} */
    this.comb = [];
    /** Teeth beside the comb: those heard alone, and those of a comb that was taken away. @type {Tooth[]} */
    this.others = [];
    /** @type {Noise[]} */
    this.noises = [];
    /** @type {Due[]} */
    this.due = [];
    this.next = 0; // the first that is still to be done
    this.sum = new Float64Array(128);
    this.peak = 0;
    this.letGo = Math.exp(-1 / (RELEASE_S * scope.sampleRate));
    this.port.onmessage = (event) => this.take(event.data);
    for (const message of options?.processorOptions?.messages ?? []) this.take(message);
  }

  /** @param {Message} message */
  take(message) {
    switch (message.kind) {
      case "comb":
        this.change(message.teeth);
        break;
      case "cues":
        for (let i = 0; i < message.frame.length; i++) {
          const tooth = this.comb[message.tooth[i]];
          if (tooth) this.due.push({ frame: message.frame[i], what: message.what[i], seed: message.seed[i], tooth, alone: false });
        }
        break;
      case "clear":
        this.forget();
        this.due = this.due.filter((d) => d.frame < message.frame || d.alone);
        break;
      case "hush":
        for (const tooth of [...this.comb, ...this.others]) tooth.damp(HUSH_S);
        break;
      case "alone":
        for (const tooth of this.others) tooth.damp(HUSH_S);
        this.due.push({ frame: message.frame, what: PLUCK, seed: message.seed, tooth: new Tooth(message.voice), alone: true });
        break;
    }
    this.forget();
    this.due.sort((a, b) => a.frame - b.frame);
  }

  /** Drops the cues that are done. */
  forget() {
    this.due.splice(0, this.next);
    this.next = 0;
  }

  /**
   * Puts another comb in place; what rings of teeth that it does not have dies away.
   * @param {Voice[]} voices
   */
  change(voices) {
    const old = this.comb;
    this.comb = voices.map((voice, i) => {
      if (old[i]?.hz !== voice.hz[0]) return new Tooth(voice);
      old[i].tune(voice);
      return old[i];
    });
    for (const tooth of old) {
      if (!tooth.rings || this.comb.includes(tooth)) continue;
      tooth.damp(HUSH_S);
      this.others.push(tooth);
    }
  }

  /** @param {Due} due */
  act({ tooth, what, seed, alone }) {
    if (what === PLUCK) {
      tooth.pluck();
      if (alone) this.others.push(tooth);
      this.noises.push(new Noise(PLUCK_NOISE, seed));
    } else if (what === TOUCH) {
      tooth.damp(tooth.dampS);
      this.noises.push(new Noise(TOUCH_NOISE, ~seed));
    } else if (what === HOLD) {
      tooth.damp(HOLD_S);
    }
  }

  /**
   * @param {Float32Array[][]} _inputs
   * @param {Float32Array[][]} outputs
   */
  process(_inputs, outputs) {
    const [first, ...others] = outputs[0];
    const length = first.length;
    if (this.sum.length < length) this.sum = new Float64Array(length);
    this.sum.fill(0);
    const start = scope.currentFrame;
    for (let at = 0; at < length; ) {
      while (this.next < this.due.length && this.due[this.next].frame <= start + at) this.act(this.due[this.next++]);
      const until = this.next < this.due.length ? Math.min(length, this.due[this.next].frame - start) : length;
      for (const tooth of this.comb) if (tooth.rings) tooth.add(this.sum, at, until);
      for (const tooth of this.others) tooth.add(this.sum, at, until);
      for (const noise of this.noises) noise.add(this.sum, at, until);
      at = until;
    }
    this.limit(first);
    for (const channel of others) channel.set(first);
    for (const tooth of this.comb) if (tooth.rings) tooth.rest();
    for (const tooth of this.others) tooth.rest();
    if (this.others.length > 0) this.others = this.others.filter((t) => t.rings);
    if (this.noises.length > 0) this.noises = this.noises.filter((n) => n.left > 0);
    return true;
  }

  /**
   * Turns the sum down while it is above the knee, so that it stays below full scale.
   * @param {Float32Array} out
   */
  limit(out) {
    for (let i = 0; i < out.length; i++) {
      const x = GAIN * this.sum[i];
      this.peak = Math.max(Math.abs(x), this.peak * this.letGo);
      const over = this.peak - KNEE;
      out[i] = over <= 0 ? x : (x / this.peak) * (KNEE + (CEILING - KNEE) * Math.tanh(over / (CEILING - KNEE)));
    }
  }
}

scope.registerProcessor?.("ring", Ring);
