/** What is flown while a slider moves: fifty launches at once, then more once it rests. */
import { ask, Refusal } from "../../lib/api/client";
import type { Changes, Problem, SetupText, Shapes } from "../../lib/api/types";
import type { Scene, Trace } from "../../lib/launch";

type Fan = Shapes["FanAnswer"];
export type Difference = NonNullable<Fan["difference"]> & { words: string };

/** The paired difference of a fan, and where its interval comes from if that needs a word. */
export const differenceOf = (fan: Fan | null): Difference | null => (fan?.difference ? { ...fan.difference, words: fan.difference_words } : null);

/** How many of so many launches failed, and the numbers of the first of them. */
export type Failed = Shapes["FailedLaunches"] & { launches: number };

const QUICK = { launches: 50, compared: 50, points: 40 };
const FINE = { launches: 50, compared: 500, points: 60 };
const FINEST = 2000;
/** As many as the odds are flown with, so that race and findings are of the same launches. */
const SCENE_FINEST = 10_000;
const REST_MS = 300;

export class Live {
  fan = $state.raw<Fan | null>(null);
  scene = $state.raw<Scene | null>(null);
  trace = $state.raw<Trace | null>(null);
  /** The same launch without the changes. */
  traceBefore = $state.raw<Trace | null>(null);
  /** What failed of what is set now; null while it is not flown yet. */
  failed = $state.raw<Failed | null>(null);
  /** What each moved slider does alone. */
  alone = $state.raw<Record<string, Difference>>({});
  problems = $state.raw<Problem[]>([]);
  /** The text of the setup that was flown last. */
  flown = $state("");
  busy = $state(false);
  launch = $state(0);
  #setup: SetupText = { text: "", files: {} };
  #changes: Changes = {};
  #seed = 1;
  #asked = 0;
  #quick = false;
  #again = false;
  #rest = 0;
  #slow: AbortController | null = null;

  /** Fly what is set now; while one answer is on its way only the last wish is kept. */
  fly(setup: SetupText, changes: Changes, seed: number): void {
    const other = setup.text !== this.#setup.text || seed !== this.#seed;
    if (other) this.traceBefore = null;
    if (other || JSON.stringify(changes) !== JSON.stringify(this.#changes)) this.failed = null;
    [this.#setup, this.#changes, this.#seed] = [setup, changes, seed];
    this.#asked++;
    this.#slow?.abort();
    clearTimeout(this.#rest);
    if (this.#quick) this.#again = true;
    else void this.#flyQuick();
  }

  /** Take away what is of another setup. */
  clear(): void {
    this.stop();
    this.#asked++;
    this.busy = this.#quick;
    [this.fan, this.scene, this.failed, this.trace, this.traceBefore, this.alone] = [null, null, null, null, null, {}];
  }

  stop(): void {
    clearTimeout(this.#rest);
    this.#slow?.abort();
  }

  async choose(launch: number): Promise<void> {
    if (launch === this.launch && this.trace?.launch === launch) return;
    this.launch = launch;
    await this.#told(async () => this.#traces(this.#asked));
  }

  get #form() {
    return { setup: this.#setup, changes: this.#changes, seed: this.#seed };
  }

  async #flyQuick(): Promise<void> {
    this.#quick = true;
    this.busy = true;
    do {
      this.#again = false;
      await this.#told(async () => {
        const form = this.#form;
        this.fan = await ask<Fan>("/api/odds/fan", { ...form, ...QUICK });
        this.flown = form.setup.text;
        this.problems = [];
      });
    } while (this.#again);
    this.#quick = false;
    if (!this.problems.length) this.#rest = window.setTimeout(() => void this.#refine(), REST_MS);
    else this.busy = false;
  }

  async #refine(): Promise<void> {
    const mine = this.#asked;
    const slow = new AbortController();
    this.#slow = slow;
    const how = { signal: slow.signal };
    const form = this.#form;
    await this.#told(async () => {
      await this.#traces(mine);
      await this.#stage(form, how, mine);
      this.fan = await ask<Fan>("/api/odds/fan", { ...form, ...FINE }, how);
      await this.#each(form, how, mine);
      const finest = await ask<Fan>("/api/odds/fan", { ...form, ...FINE, compared: FINEST }, how);
      if (mine !== this.#asked) return;
      this.fan = finest;
      const [only, ...others] = Object.keys(form.changes);
      const gap = differenceOf(finest);
      if (only && !others.length && gap) this.alone = { [only]: gap };
      await this.#stage({ ...form, launches: SCENE_FINEST }, how, mine);
    });
    if (mine === this.#asked) this.busy = false;
  }

  async #stage(form: { setup: SetupText; changes: Changes; seed: number; launches?: number }, how: RequestInit, mine: number): Promise<void> {
    const scene = await ask<Scene>("/api/odds/scene", form, how);
    if (mine !== this.#asked) return;
    this.scene = scene;
    this.failed = { launches: scene.launches, ...scene.failed };
  }

  async #each(form: { setup: SetupText; changes: Changes; seed: number }, how: RequestInit, mine: number): Promise<void> {
    const moved = Object.entries(form.changes);
    const found: Record<string, Difference> = {};
    for (const [path, text] of moved) {
      const only = moved.length === 1 ? this.fan : await ask<Fan>("/api/odds/fan", { ...form, changes: { [path]: text }, ...FINE }, how);
      if (mine !== this.#asked) return;
      const gap = differenceOf(only);
      if (gap) found[path] = gap;
      this.alone = { ...found };
    }
    this.alone = found;
  }

  async #traces(mine: number): Promise<void> {
    const { launch } = this;
    const form = { ...this.#form, launch };
    const trace = await ask<Trace>("/api/odds/trace", form);
    if (mine !== this.#asked || launch !== this.launch) return;
    this.trace = trace;
    if (!Object.keys(form.changes).length) this.traceBefore = null;
    else if (this.traceBefore?.launch !== launch) {
      const before = await ask<Trace>("/api/odds/trace", { ...form, changes: {} });
      if (launch === this.launch) this.traceBefore = before;
    }
  }

  async #told(act: () => Promise<void>): Promise<void> {
    try {
      await act();
    } catch (error) {
      if (error instanceof DOMException && error.name === "AbortError") return;
      if (!(error instanceof Refusal)) throw error;
      this.problems = error.problems;
      this.busy = false;
    }
  }
}
