/** What the browser keeps of the pages for the next visit. Where it refuses, it is kept for this visit alone. */

/** A place that outlives the page; throws where the browser allows none. */
type Place = () => Storage;

/** Texts by their keys. Nothing throws: what the browser will not keep is told by `refused`. */
export class Store {
  /** Whether the browser would not read or write: a private window, cookies turned off, no room left. */
  refused = $state(false);
  readonly #place: Place;
  /** What was written in this visit and refused; null for what was taken out. */
  readonly #here = new Map<string, string | null>();

  constructor(place: Place) {
    this.#place = place;
  }

  text(key: string): string | null {
    const here = this.#here.get(key);
    if (here !== undefined) return here;
    try {
      return this.#place().getItem(key);
    } catch {
      this.refused = true;
      return null;
    }
  }

  /** Keep a text; whether the browser keeps it for the next visit too. */
  keep(key: string, text: string): boolean {
    try {
      this.#place().setItem(key, text);
      this.#here.delete(key);
      return true;
    } catch {
      this.#here.set(key, text);
      this.refused = true;
      return false;
    }
  }

  drop(key: string): void {
    try {
      this.#place().removeItem(key);
      this.#here.delete(key);
    } catch {
      this.#here.set(key, null);
      this.refused = true;
    }
  }

  /** What was kept as JSON; null if there is nothing, or something that is no JSON. */
  read<T>(key: string): T | null {
    const text = this.text(key);
    if (text === null) return null;
    try {
      return JSON.parse(text) as T | null;
    } catch {
      this.drop(key);
      return null;
    }
  }

  /** Keep a value as JSON. */
  write(key: string, value: unknown): boolean {
    return this.keep(key, JSON.stringify(value));
  }
}

/** For every window of this browser. */
export const store = new Store(() => localStorage);
/** For this window alone. */
export const windowStore = new Store(() => sessionStorage);
