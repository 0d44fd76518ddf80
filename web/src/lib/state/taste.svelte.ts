/** What the user prefers on this machine: theme and units. */

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
    const kept = localStorage.getItem(KEY);
    if (kept) Object.assign(this, JSON.parse(kept) as Partial<Kept>);
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
    localStorage.setItem(KEY, JSON.stringify(kept));
  }
}

export const taste = new Taste();
