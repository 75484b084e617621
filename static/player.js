import { say } from "./say.js";
import { alone, arranged, between, columns, sameTeeth, turn, voice, written } from "./voice.js";

/** @import { Scene } from "./scene.js" */
/** @import { Cue, Score } from "./voice.js" */

export const SLOWEST = 1 / 8;
export const FASTEST = 2;

/** So far ahead are cues sent, and so often: a page in the background is woken once a second. */
const AHEAD_S = 2.5;
const EVERY_MS = 250;
/** What is changed is heard after so long. */
const SOON_S = 0.03;
/** After so long without a sound the audio thread rests. */
const REST_MS = 8000;
/** Without a loudspeaker some browsers never answer. */
const ANSWER_MS = 5000;

/**
 * How turning lies in time: at `atS` on the audio clock the cylinder stands at `deg`. Degrees go on past a turn.
 * @typedef {{ atS: number, deg: number, degPerS: number }} Course
 */

/**
 * Says in words why there can be no sound here.
 * @returns {string} empty where there can
 */
export function unheard() {
  if (typeof AudioContext !== "undefined" && "audioWorklet" in AudioContext.prototype && typeof AudioWorkletNode !== "undefined") return "";
  return globalThis.isSecureContext
    ? say("This browser cannot make the sound here.")
    : say("A browser makes the sound only on a page that came by https, or from this machine itself.");
}

/**
 * Makes the comb that rings on an audio context.
 * @param {BaseAudioContext} context
 * @param {import("./ring.js").Message[]} [messages]  what it is told from the start
 * @returns {Promise<AudioWorkletNode>} not yet connected
 */
export async function ringOn(context, messages = []) {
  await context.audioWorklet.addModule(new URL("ring.js", import.meta.url));
  return new AudioWorkletNode(context, "ring", { numberOfInputs: 0, outputChannelCount: [1], processorOptions: { messages } });
}

/**
 * Prepares to play a scene; nothing sounds, and no audio is opened, before play or hear.
 * @param {Scene} scene
 */
export function listen(scene) {
  return new Player(scene);
}

/**
 * Turns a cylinder and lets its comb ring. It dispatches "turning" for each frame that is shown while it turns, and "change" when it starts
 * or stops, is set otherwise, or plays another scene.
 */
export class Player extends EventTarget {
  /** @type {AudioContext | null} */
  #context = null;
  /** @type {Promise<{ context: AudioContext, ring: AudioWorkletNode }> | null} */
  #opened = null;
  /** @type {AudioWorkletNode | null} */
  #ring = null;

  /** @type {Scene} */
  #scene;
  /** @type {Score} */
  #score;
  /** @type {Cue[]} */
  #cues = [];
  #speed = 1;
  #written = false;
  /** @type {ReadonlySet<number> | null} */
  #chosen = null;

  #playing = false;
  /** Whoever asked last to play or to stop: what was opened for someone earlier comes too late. */
  #asked = 0;
  /** Where the cylinder stands while it does not turn. */
  #deg = 0;
  /** How it turns now, and how it did before. @type {Course[]} */
  #courses = [];
  /** Where it stops by itself. */
  #endDeg = Infinity;
  /** Cues before this are sent. */
  #sentDeg = 0;
  #timer = 0;
  #frame = 0;
  #rest = 0;

  /** @param {Scene} scene */
  constructor(scene) {
    super();
    this.#scene = scene;
    this.#score = this.#compose();
  }

  get playing() {
    return this.#playing;
  }

  /** Reports whether it stops at the end of the turn. */
  get once() {
    return this.#playing && this.#endDeg < Infinity;
  }

  /** Where the datum line stands as it is heard, in degrees that have passed the comb: 0 to 360. */
  get deg() {
    return this.#playing ? this.#heardDeg() % 360 : this.#deg;
  }

  get speed() {
    return this.#speed;
  }

  get written() {
    return this.#written;
  }

  /** The only teeth that are heard; null where all are. */
  get teeth() {
    return this.#chosen;
  }

  get scene() {
    return this.#scene;
  }

  /**
   * Plays one turn from the datum line on, or keeps the cylinder turning from where it stands.
   * @param {{ once?: boolean }} [how]
   * @returns {Promise<void>} rejected where the browser gives no sound
   */
  async play({ once = false } = {}) {
    const asked = ++this.#asked;
    const { context } = await this.#open();
    if (asked !== this.#asked) return;
    if (this.#playing && !once) {
      this.#endDeg = Infinity;
      this.#send();
    } else {
      if (this.#playing) this.#post({ kind: "clear", frame: 0 }, { kind: "hush" });
      const deg = once ? 0 : this.#deg;
      this.#endDeg = once ? 360 : Infinity;
      this.#playing = true;
      this.#courses = [];
      this.#turnFrom(this.#soon(context), deg);
      this.#timer ||= setInterval(() => this.#send(), EVERY_MS);
      cancelAnimationFrame(this.#frame);
      this.#show();
    }
    this.#tell();
  }

  /** Stops the cylinder where it stands, and stills the comb. */
  stop() {
    this.#asked++;
    this.#post({ kind: "clear", frame: 0 }, { kind: "hush" });
    this.#halt(this.deg);
  }

  /**
   * Turns faster or slower: pitches stay, and teeth ring and are damped in their own time.
   * @param {number} speed  1 is that of the cylinder; kept between SLOWEST and FASTEST
   */
  setSpeed(speed) {
    this.#speed = Math.min(FASTEST, Math.max(SLOWEST, speed));
    this.#anew();
  }

  /**
   * Lets only some teeth be heard.
   * @param {Iterable<number> | null} teeth  from 1; null or none lets all be heard
   */
  setTeeth(teeth) {
    const chosen = new Set(teeth ?? []);
    this.#chosen = chosen.size > 0 ? chosen : null;
    this.#anew();
  }

  /**
   * Plays the notes as written, or the pins as they stand.
   * @param {boolean} written
   */
  setWritten(written) {
    this.#written = written;
    this.#anew();
  }

  /**
   * Plucks one note by itself, whether it has a pin or was left out; turning goes on.
   * @param {string} note
   * @returns {Promise<boolean>} whether the scene has the note; rejected where the browser gives no sound
   */
  async hear(note) {
    const bar = alone(this.#scene, note);
    if (!bar) return false;
    const { context } = await this.#open();
    const made = voice(bar, this.#score.quality, context.sampleRate);
    this.#post({ kind: "alone", frame: Math.ceil(this.#soon(context) * context.sampleRate), voice: made, seed: 1 });
    if (!this.#playing) this.#restLater();
    return true;
  }

  /**
   * Plays another scene from the same angle on, with the same settings.
   * @param {Scene} scene
   */
  replace(scene) {
    if (this.#chosen) this.#chosen = sameTeeth(this.#scene, scene, this.#chosen);
    this.#scene = scene;
    this.#anew();
  }

  /** Gives the audio back. */
  dispose() {
    this.stop();
    clearTimeout(this.#rest);
    void this.#context?.close();
    this.#context = this.#opened = this.#ring = null;
  }

  /** @returns {Promise<{ context: AudioContext, ring: AudioWorkletNode }>} */
  async #open() {
    clearTimeout(this.#rest);
    const why = unheard();
    if (why) throw new Error(why);
    this.#context ??= new AudioContext();
    const context = this.#context;
    const resumed = context.resume(); // in the same breath as the click that allows it
    this.#opened ??= ringOn(context).then(
      (ring) => {
        ring.connect(context.destination);
        this.#ring = ring;
        this.#tellComb();
        return { context, ring };
      },
      (trouble) => {
        this.#opened = null; // so that it can be tried again
        throw trouble;
      },
    );
    let timer = 0;
    const late = new Promise((_, reject) => {
      timer = setTimeout(() => reject(new Error("no loudspeaker answers")), ANSWER_MS);
    });
    try {
      await Promise.race([Promise.all([this.#opened, resumed]), late]);
      return await this.#opened;
    } finally {
      clearTimeout(timer);
    }
  }

  #compose() {
    const score = (this.#written ? written : arranged)(this.#scene, this.#chosen);
    this.#cues = turn(score, this.#speed);
    return score;
  }

  /** Puts what is set in place of what plays, at once and at the same angle. */
  #anew() {
    this.#score = this.#compose();
    const context = this.#context;
    if (this.#playing && context) {
      const atS = this.#soon(context);
      const deg = this.#degAt(atS);
      this.#post({ kind: "clear", frame: Math.round(atS * context.sampleRate) });
      this.#tellComb();
      this.#turnFrom(atS, deg);
    } else {
      this.#tellComb();
    }
    this.#tell();
  }

  #tellComb() {
    const { teeth, quality } = this.#score;
    const rate = this.#context?.sampleRate ?? 0;
    this.#post({ kind: "comb", teeth: teeth.map((t) => voice(t, quality, rate)) });
  }

  /** @param {import("./ring.js").Message[]} messages */
  #post(...messages) {
    for (const message of messages) this.#ring?.port.postMessage(message);
  }

  /**
   * The next moment for which something can be told, on a sample.
   * @param {AudioContext} context
   */
  #soon(context) {
    return Math.ceil((context.currentTime + SOON_S) * context.sampleRate) / context.sampleRate;
  }

  /**
   * @param {number} atS
   * @param {number} deg
   */
  #turnFrom(atS, deg) {
    const course = { atS, deg, degPerS: (360_000 * this.#speed) / this.#score.turnMs };
    this.#courses = [course, ...this.#courses.filter((c) => c.atS < atS)].slice(0, 8);
    this.#sentDeg = deg;
    this.#send();
  }

  /** Sends the cues that are due soon. */
  #send() {
    const context = this.#context;
    const course = this.#courses[0];
    if (!this.#playing || !context || !course) return;
    if (this.#ended()) return;
    const until = Math.min(this.#endDeg, this.#degAt(context.currentTime + AHEAD_S));
    if (until <= this.#sentDeg) return;
    const { turnMs } = this.#score;
    const cues = between(this.#cues, turnMs, (this.#sentDeg / 360) * turnMs, (until / 360) * turnMs);
    const start = course.atS * context.sampleRate;
    const fromMs = (course.deg / 360) * turnMs;
    const perMs = context.sampleRate / (1000 * this.#speed);
    this.#post({ kind: "cues", ...columns(cues, (atMs) => start + (atMs - fromMs) * perMs + 1e-6) });
    this.#sentDeg = until;
  }

  /** @param {number} atS */
  #degAt(atS) {
    const course = this.#courses.find((c) => c.atS <= atS) ?? this.#courses[this.#courses.length - 1];
    return course ? course.deg + Math.max(0, atS - course.atS) * course.degPerS : this.#deg;
  }

  #heardDeg() {
    const context = this.#context;
    if (!context) return this.#deg;
    let atS = context.currentTime;
    const heard = context.getOutputTimestamp?.();
    if (heard?.contextTime && heard.performanceTime) atS = Math.min(atS, heard.contextTime + (performance.now() - heard.performanceTime) / 1000);
    return Math.min(this.#endDeg, this.#degAt(atS));
  }

  /** Halts at the end of one turn; its last teeth ring on. */
  #ended() {
    if (this.#heardDeg() < this.#endDeg) return false;
    this.#halt(0);
    return true;
  }

  /** @param {number} deg */
  #halt(deg) {
    const was = this.#playing;
    this.#deg = deg;
    this.#playing = false;
    this.#courses = [];
    clearInterval(this.#timer);
    cancelAnimationFrame(this.#frame);
    this.#timer = 0;
    if (was) {
      this.dispatchEvent(new Event("turning"));
      this.#tell();
    }
    this.#restLater();
  }

  #restLater() {
    clearTimeout(this.#rest);
    this.#rest = setTimeout(() => void this.#context?.suspend(), REST_MS);
  }

  #show() {
    if (!this.#playing || this.#ended()) return;
    this.dispatchEvent(new Event("turning"));
    this.#frame = requestAnimationFrame(() => this.#show());
  }

  #tell() {
    this.dispatchEvent(new Event("change"));
  }
}
