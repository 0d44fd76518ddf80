/** What the user prefers on this machine: theme and units. */

import { store } from "./store.svelte";

export type Theme = "as the machine" | "light" | "dark";
export type System = "metric" | "imperial";
const KEY = "overarm.taste";

interface Kept {
  theme: Theme;
  system: System;
  /** Unit chosen for one field, by its key. */
  units: Record<string, string>;
}

const dark = matchMedia("(prefers-color-scheme: dark)");

class Taste {
  theme = $state<Theme>("as the machine");
  system = $state<System>("metric");
  units = $state<Record<string, string>>({});
  #machine = $state(dark.matches);

  constructor() {
    Object.assign(this, store.read<Partial<Kept>>(KEY));
    dark.addEventListener("change", () => {
      this.#machine = dark.matches;
      this.show();
    });
    this.show();
  }

  get isDark(): boolean {
    return this.theme === "dark" || (this.theme === "as the machine" && this.#machine);
  }

  show(): void {
    document.documentElement.dataset.theme = this.isDark ? "dark" : "light";
  }

  keep(): void {
    this.show();
    const kept: Kept = { theme: this.theme, system: this.system, units: this.units };
    store.write(KEY, kept);
  }
}

export const taste = new Taste();
