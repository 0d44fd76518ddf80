/** One recording from the yes to its end: countdown, samples, the strip, and what is put down on the way. */
import { store } from "../../lib/state/store.svelte";
import { csvOf, listen, type Lack, type Sample } from "./motion";
import { session, type Kind, type Taken } from "./session.svelte";
import { ready, tone } from "./sound";

const MUTED = "overarm.rehearsal.muted";
/** Seconds after the long tone; a carry goes on until it is stopped. */
export const LASTS_S: Record<Kind, number> = { carry: 120, shake: 5, throw: 3 };
const [WAIT_MS, SECOND_MS, COUNT] = [1000, 1000, 3];
const [HOLD_EVERY_MS, STRIP_EVERY_MS, STRIP_S] = [5000, 66, 6];
/** A touch on the screen to stop is felt too: so much of the end is left out. */
const TOUCH_S = 0.7;
const LEAST_SAMPLES = 20;

type Phase = "idle" | "waiting" | "counting" | "on";

class Recorder {
  phase = $state<Phase>("idle");
  kind = $state<Kind>("throw");
  count = $state(COUNT);
  seconds = $state(0);
  lack = $state<Lack | "too short" | null>(null);
  muted = $state(store.text(MUTED) === "yes");
  /** Forward force over the last seconds: [seconds ago, m/s2 as the phone gives it]. */
  strip = $state.raw<[number, number][]>([]);
  #samples: Sample[] = [];
  #taken: Taken | null = null;
  #end: (() => void) | null = null;
  #timers: number[] = [];
  #lock: WakeLockSentinel | null = null;
  #beganAt = 0;

  get busy(): boolean {
    return this.phase !== "idle";
  }

  mute(muted: boolean): void {
    this.muted = muted;
    store.keep(MUTED, muted ? "yes" : "no");
  }

  /** Begin; must be called by a touch or a key. */
  async start(kind: Kind): Promise<void> {
    if (this.busy) return;
    [this.kind, this.count, this.seconds, this.lack, this.strip] = [kind, COUNT, 0, null, []];
    this.#samples = [];
    this.phase = "waiting";
    ready();
    const heard = await listen((sample) => this.#take(sample));
    if (typeof heard === "string") {
      this.lack = heard;
      this.phase = "idle";
      return;
    }
    if (this.phase !== "waiting") return heard();
    this.#end = heard;
    this.#lock = (await navigator.wakeLock?.request("screen").catch(() => null)) ?? null;
    this.#after(WAIT_MS, () => this.#count());
  }

  /** Stop; what was recorded up to the touch is kept, unless the countdown was still on. */
  async stop(): Promise<void> {
    if (this.phase !== "on") return this.discard();
    const last = (this.#samples.at(-1)?.timeStamp ?? 0) - TOUCH_S * 1000;
    this.#samples = this.#samples.filter((one) => one.timeStamp <= last);
    await this.#finish();
  }

  async discard(): Promise<void> {
    const key = this.#taken?.key;
    this.#leave();
    if (key) await session.remove(key);
  }

  #after(delay: number, act: () => void): void {
    this.#timers.push(window.setTimeout(act, delay));
  }

  #every(delay: number, act: () => void): void {
    this.#timers.push(window.setInterval(act, delay));
  }

  #count(): void {
    this.phase = "counting";
    this.#samples = [];
    this.#every(STRIP_EVERY_MS, () => this.#draw());
    const began = new Date();
    const stamp = began.toISOString().replace(/[-:]|\..*/g, "").replace("T", "-");
    const [key, name] = [crypto.randomUUID(), `${this.kind}-${stamp}.csv`];
    session.open = key;
    this.#taken = { key, name, label: this.kind, at: began.toISOString(), seconds: 0, upload: "", booked: false };
    for (let beep = 0; beep < COUNT; beep++)
      this.#after(beep * SECOND_MS, () => {
        this.count = COUNT - beep;
        tone(660, 0.12, this.muted);
      });
    this.#after(COUNT * SECOND_MS, () => this.#go());
  }

  #go(): void {
    this.phase = "on";
    this.#beganAt = performance.now();
    tone(990, 0.7, this.muted);
    this.#every(HOLD_EVERY_MS, () => void this.#hold());
    this.#after(LASTS_S[this.kind] * 1000, () => void this.#finish());
  }

  #take(sample: Sample): void {
    if (this.phase === "counting" || this.phase === "on") this.#samples.push(sample);
  }

  #draw(): void {
    const last = this.#samples.at(-1);
    if (!last) return;
    if (this.phase === "on") this.seconds = (performance.now() - this.#beganAt) / 1000;
    const from = last.timeStamp - STRIP_S * 1000;
    const recent = this.#samples.slice(-STRIP_S * 120).filter((one) => one.timeStamp >= from);
    // Some platforms turn every sign; the reader decides for good by the gravity at rest, the strip by now.
    const turned = (recent[0]?.accelerationIncludingGravity.z ?? 1) < 0 ? -1 : 1;
    this.strip = recent.map((one) => {
      const forward = one.accelerationIncludingGravity.y ?? one.acceleration.y ?? 0;
      return [(one.timeStamp - last.timeStamp) / 1000, turned * forward];
    });
  }

  /** Put down what there is; the browser may refuse to, then it stays in the page. */
  async #hold(): Promise<void> {
    const [samples, taken] = [this.#samples, this.#taken];
    if (!taken) return;
    const seconds = ((samples.at(-1)?.timeStamp ?? 0) - (samples[0]?.timeStamp ?? 0)) / 1000;
    await session.hold({ ...taken, seconds }, csvOf(samples, taken.label, taken.at));
  }

  async #finish(): Promise<void> {
    this.#end?.();
    if (this.#samples.length < LEAST_SAMPLES) {
      this.lack = "too short";
      return this.discard();
    }
    tone(440, 0.25, this.muted);
    const held = this.#hold();
    this.#leave();
    await held;
    await session.send();
  }

  #leave(): void {
    this.#end?.();
    this.#end = null;
    for (const timer of this.#timers) clearTimeout(timer);
    this.#timers = [];
    void this.#lock?.release();
    this.#lock = null;
    this.#taken = null;
    session.open = "";
    this.phase = "idle";
  }
}

export const recorder = new Recorder();
