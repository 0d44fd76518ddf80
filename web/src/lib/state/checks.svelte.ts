/** The server's check of a text: asked once the text has rested, and again for as long as none comes. */
import { ask, problem, Refusal } from "../api/client";
import type { Problem, SetupText, Shapes } from "../api/types";

export type CheckAnswer = Shapes["CheckAnswer"];

const AFTER_MS = 250;
const AGAIN_AFTER_MS = 3000;
/** A check takes a tenth of a second; the server itself gives one up after half a minute. */
const SLOW_MS = 10_000;
const NEVER_MS = 45_000;
const SLOW = problem("The workbench has not answered yet whether this setup can be read", "Wait, or ask again");

export class Checks {
  /** The check of the text as it is now, or the last one while a new one is on its way. */
  answer = $state.raw<CheckAnswer | null>(null);
  /** What is wrong with the text. */
  problems = $state.raw<Problem[]>([]);
  /** Why it is not known what is wrong with the text: no answer came. */
  unanswered = $state.raw<Problem[]>([]);
  readonly #body: () => SetupText;
  #timer = 0;
  #asks: AbortController | null = null;

  constructor(body: () => SetupText) {
    this.#body = body;
  }

  /** Ask in a moment; what was asked before is not waited for. */
  soon(after = AFTER_MS): void {
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.#look(), after);
  }

  /** Say what is wrong without asking. */
  refuse(problems: Problem[]): void {
    clearTimeout(this.#timer);
    this.#asks?.abort();
    this.problems = problems;
    this.unanswered = [];
  }

  /** Begin with another text: what was said of the last one is gone. */
  forget(): void {
    this.#asks?.abort();
    [this.answer, this.problems, this.unanswered] = [null, [], []];
  }

  async #look(): Promise<void> {
    this.#asks?.abort();
    const mine = new AbortController();
    this.#asks = mine;
    const slow = setTimeout(() => (this.unanswered = [SLOW]), SLOW_MS);
    const never = setTimeout(() => (mine.abort(), this.soon(AGAIN_AFTER_MS)), NEVER_MS);
    mine.signal.addEventListener("abort", () => (clearTimeout(slow), clearTimeout(never)));
    try {
      const answer = await ask<CheckAnswer>("/api/describe/check", { setup: this.#body() }, { signal: mine.signal });
      this.problems = answer.good ? [] : ((answer.problems ?? []) as Problem[]);
      this.answer = answer;
      this.unanswered = [];
    } catch (error) {
      if (mine.signal.aborted) return;
      if (!(error instanceof Refusal)) throw error;
      if (error.passing) {
        this.unanswered = error.problems;
        this.soon(AGAIN_AFTER_MS);
      } else [this.problems, this.unanswered] = [error.problems, []];
    } finally {
      clearTimeout(slow);
      clearTimeout(never);
    }
  }
}
