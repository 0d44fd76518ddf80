/** The rules of the cards, asked for once, and the way from a problem to its field. */
import { tick } from "svelte";
import { ask, Refusal } from "../../lib/api/client";
import type { Problem, Shapes } from "../../lib/api/types";
import { setup } from "../../lib/state/setup.svelte";
import { valueAt } from "../../lib/yaml";
import { idOf, isRequired, ruleAt, valueOrDefault, type Rule } from "./fields";

const AGAIN_AFTER_MS = 3000;

class Cards {
  schema = $state.raw<Rule>({});
  problems = $state.raw<Problem[]>([]);
  #wanted = false;
  #timer = 0;

  get ready(): boolean {
    return this.schema.properties !== undefined;
  }

  /** Have them asked for, and again for as long as the server does not answer; returns what ends that. */
  follow(): () => void {
    this.#wanted = true;
    void this.load();
    return () => {
      this.#wanted = false;
      clearTimeout(this.#timer);
    };
  }

  async load(): Promise<void> {
    clearTimeout(this.#timer);
    if (this.ready) return;
    try {
      this.schema = (await ask<Shapes["CardsAnswer"]>("/api/describe/cards")).schema as Rule;
      this.problems = [];
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.problems = error.problems;
      if (error.passing && this.#wanted) this.#timer = window.setTimeout(() => void this.load(), AGAIN_AFTER_MS);
    }
  }

  rule(path: string): Rule {
    return ruleAt(this.schema, path) ?? {};
  }

  required(path: string): boolean {
    return isRequired(this.schema, path);
  }

  /** What stands under a key as the parser gives it. */
  at(path: string): unknown {
    return valueAt(setup.read.tree, path);
  }

  orDefault(path: string): unknown {
    return valueOrDefault(this.schema, setup.read.tree, path);
  }

  /** What is wrong at a key itself. */
  wrong(path: string): Problem[] {
    const amount = this.rule(path)["x-amount"] !== undefined;
    return setup.problems.filter((one) => one.key === path || (amount && one.key.startsWith(`${path}.`)));
  }

  /** How many problems lie at keys or below them. */
  wrongIn(keys: readonly string[]): number {
    return setup.problems.filter((one) => keys.some((key) => one.key === key || one.key.startsWith(`${key}.`))).length;
  }

  /** Open what a field is folded into, and go to it; whether it was found. */
  async go(path: string): Promise<boolean> {
    const field = nearest(path);
    if (!field) return false;
    for (let box = field.closest("details"); box; box = box.parentElement?.closest("details") ?? null) box.open = true;
    await tick();
    field.scrollIntoView({ block: "center" });
    const first = field.querySelector<HTMLElement>("input, select, textarea, button");
    (field.matches("input, select, textarea, button") ? field : (first ?? field)).focus({ preventScroll: true });
    return true;
  }
}

function nearest(path: string): HTMLElement | null {
  const keys = path.split(".");
  for (let many = keys.length; many > 0; many--) {
    const found = document.getElementById(idOf(keys.slice(0, many).join(".")));
    if (found) return found;
  }
  return null;
}

export const cards = new Cards();
