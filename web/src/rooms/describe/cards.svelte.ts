/** The rules of the cards, asked for once, and the way from a problem to its field. */
import { tick } from "svelte";
import { ask, Refusal } from "../../lib/api/client";
import type { Problem, Shapes } from "../../lib/api/types";
import { setup } from "../../lib/state/setup.svelte";
import { valueAt } from "../../lib/yaml";
import { idOf, isRequired, ruleAt, valueOrDefault, type Rule } from "./fields";

class Cards {
  schema = $state.raw<Rule>({});
  problems = $state.raw<Problem[]>([]);

  get ready(): boolean {
    return this.schema.properties !== undefined;
  }

  async load(): Promise<void> {
    if (this.ready) return;
    try {
      this.schema = (await ask<Shapes["CardsAnswer"]>("/api/describe/cards")).schema as Rule;
      this.problems = [];
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.problems = error.problems;
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
