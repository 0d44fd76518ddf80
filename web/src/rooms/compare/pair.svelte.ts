/** The right side of the comparison, and what the server says of both. */
import { amountIn, joined, parsed } from "../../lib/amount";
import { ask, Refusal } from "../../lib/api/client";
import type { Changes, Problem, SetupText, Shapes } from "../../lib/api/types";
import type { Scene } from "../../lib/launch";
import type { CheckAnswer } from "../../lib/state/setup.svelte";
import { changed, read, valueAt } from "../../lib/yaml";
import type { Rule } from "../describe/fields";
import { asChanges, differences, type Difference } from "./differences";

type Fan = Shapes["FanAnswer"];
type Good = Extract<CheckAnswer, { good: true }>;

export const DAY_KEYS = ["wind", "wind_angle", "gust_scale", "temperature", "pack_volts", "pack_temperature"] as const;
export const SEED = 1;
const FAN = { launches: 50, compared: 2000, points: 60 };
const REST_MS = 350;

/** The same setup with another day; what is left empty, a unit, and how a value is known stay as they are. */
export function onDay(text: string, day: Record<string, string>): string {
  const { tree } = read(text);
  return DAY_KEYS.reduce((now, key) => {
    const words = day[key]?.trim();
    if (!words) return now;
    const [there, typed] = [amountIn(valueAt(tree, `day.${key}`)), parsed(words)];
    const whole = typed && joined({ ...typed, unit: typed.unit || there?.unit || "", known: typed.known || there?.known || "" });
    return changed(now, `day.${key}`, whole ?? words);
  }, text);
}

export interface Question {
  left: SetupText;
  right: SetupText;
  /** What the server says of the left one; asked for if it is not known. */
  check: Good | null;
  /** The right setup as changes of the left one, where that is known; null where both are to be flown for themselves. */
  changes?: Changes | null;
  seed: number;
}

interface Flown {
  side: Fan["before"];
  scene: Scene;
}

export class Pair {
  found = $state.raw<Difference[]>([]);
  /** The right setup as changes of the left one; null if both must be flown for themselves. */
  changes = $state.raw<Changes | null>(null);
  left = $state.raw<Good | null>(null);
  right = $state.raw<Good | null>(null);
  flown = $state.raw<[Flown, Flown] | null>(null);
  difference = $state.raw<Fan["difference"]>(null);
  /** Where the interval of the difference comes from if that needs a word. */
  differenceWords = $state("");
  problems = $state.raw<Problem[]>([]);
  busy = $state(false);
  #timer = 0;
  #asks: AbortController | null = null;

  stop(): void {
    clearTimeout(this.#timer);
    this.#asks?.abort();
    this.busy = false;
  }

  /** Begin with another pair: what was said of the last one is gone. */
  clear(): void {
    this.stop();
    [this.found, this.changes, this.left, this.right, this.flown, this.difference, this.problems] = [[], null, null, null, null, null, []];
  }

  /** Compare two setups once both have rested for a moment. */
  look(schema: Rule, question: Question): void {
    this.stop();
    this.busy = true;
    const mine = new AbortController();
    this.#asks = mine;
    this.#timer = window.setTimeout(() => void this.#look(schema, question, mine), REST_MS);
  }

  async #look(schema: Rule, question: Question, mine: AbortController): Promise<void> {
    const how = { signal: mine.signal };
    const { left, right } = question;
    try {
      this.problems = [];
      const before: CheckAnswer = question.check ?? (await ask("/api/describe/check", { setup: left }, how));
      const check = await ask<CheckAnswer>("/api/describe/check", { setup: right }, how);
      [this.left, this.right] = [before.good ? before : null, check.good ? check : null];
      if (!before.good || !check.good) {
        this.problems = [before, check].flatMap((one) => (one.good ? [] : ((one.problems ?? []) as Problem[])));
        this.flown = null;
        this.found = [];
        return;
      }
      const [a, b] = [read(left.text).tree, read(right.text).tree];
      this.found = differences(schema, a, b);
      if (question.changes !== undefined) this.changes = question.changes;
      else this.changes = check.setup_hash === before.setup_hash ? null : await this.#pairing(schema, left, right, check.setup_hash, how);
      await (this.changes ? this.#together(question, this.changes, how) : this.#apart(question, how));
    } catch (error) {
      if (mine.signal.aborted) return;
      if (!(error instanceof Refusal)) throw error;
      this.problems = error.problems;
      this.flown = null;
    } finally {
      if (this.#asks === mine) this.busy = false;
    }
  }

  /** The changes that make the left setup the right one, if the server comes to the same setup with them. */
  async #pairing(schema: Rule, left: SetupText, right: SetupText, hash: string, how: RequestInit): Promise<Changes | null> {
    const changes = asChanges(schema, read(left.text).tree, read(right.text).tree, this.found);
    if (!changes) return null;
    try {
      const check = await ask<CheckAnswer>("/api/describe/check", { setup: left, changes }, how);
      return check.good && check.setup_hash === hash ? changes : null;
    } catch (error) {
      if (error instanceof Refusal && !error.away) return null;
      throw error;
    }
  }

  async #together({ left, seed }: Question, changes: Changes, how: RequestInit): Promise<void> {
    const fan = await ask<Fan>("/api/odds/fan", { ...FAN, seed, setup: left, changes }, how);
    const scenes = await this.#scenes([{ setup: left, seed }, { setup: left, changes, seed }], how);
    this.difference = fan.difference;
    this.differenceWords = fan.difference_words;
    if (fan.after) this.flown = [{ side: fan.before, scene: scenes[0]! }, { side: fan.after, scene: scenes[1]! }];
  }

  async #apart({ left, right, seed }: Question, how: RequestInit): Promise<void> {
    const one = await ask<Fan>("/api/odds/fan", { ...FAN, seed, setup: left }, how);
    const other = await ask<Fan>("/api/odds/fan", { ...FAN, seed, setup: right }, how);
    const scenes = await this.#scenes([{ setup: left, seed }, { setup: right, seed }], how);
    this.difference = null;
    this.flown = [{ side: one.before, scene: scenes[0]! }, { side: other.before, scene: scenes[1]! }];
  }

  async #scenes(forms: object[], how: RequestInit): Promise<Scene[]> {
    const scenes: Scene[] = [];
    for (const form of forms) scenes.push(await ask<Scene>("/api/odds/scene", form, how));
    return scenes;
  }
}
