/** The recordings of this phone: sent at once, kept here until they are, listed over a reload. */
import { ask, Refusal, upload } from "../../lib/api/client";
import type { Problem } from "../../lib/api/types";
import { drop, find, keep } from "./unsent";

export const KINDS = ["carry", "shake", "throw"] as const;
export type Kind = (typeof KINDS)[number];

export interface Taken {
  key: string;
  name: string;
  label: Kind | "other";
  at: string;
  seconds: number;
  /** "" until the server has it. */
  upload: string;
  /** Whether it is in the logbook. */
  booked: boolean;
}

const KEY = "overarm.rehearsal";
const AGAIN_MS = 3000;

class Session {
  list = $state<Taken[]>([]);
  problems = $state.raw<Problem[]>([]);
  /** Whether the server could not be reached the last time. */
  away = $state(false);
  /** The recording that is still being taken: not sent before its end. */
  open = $state("");
  #timer = 0;

  constructor() {
    const kept = localStorage.getItem(KEY);
    if (kept) this.list = JSON.parse(kept) as Taken[];
  }

  save(): void {
    localStorage.setItem(KEY, JSON.stringify(this.list));
  }

  /** Put down what is recorded so far, so that a reload in the middle loses little. */
  async hold(taken: Taken, csv: string): Promise<void> {
    await keep(taken.key, csv);
    const at = this.list.findIndex((one) => one.key === taken.key);
    if (at < 0) this.list.unshift(taken);
    else this.list[at] = taken;
    this.save();
  }

  /** Send what the server does not have yet; again later if it is away. */
  async send(): Promise<void> {
    clearTimeout(this.#timer);
    for (const one of this.list.filter((item) => !item.upload && item.key !== this.open)) {
      const csv = await find(one.key);
      if (csv === undefined) {
        this.list = this.list.filter((item) => item.key !== one.key);
        this.save();
        continue;
      }
      try {
        const said = await upload(new Blob([csv], { type: "text/csv" }), one.name);
        one.upload = said.id;
        this.away = false;
        this.problems = [];
        this.save();
        await drop(one.key);
      } catch (error) {
        if (!(error instanceof Refusal)) throw error;
        this.away = error.away;
        this.problems = error.problems;
        if (error.away) this.#timer = window.setTimeout(() => void this.send(), AGAIN_MS);
        return;
      }
    }
  }

  async remove(key: string): Promise<void> {
    const one = this.list.find((item) => item.key === key);
    this.list = this.list.filter((item) => item.key !== key);
    this.save();
    await drop(key);
    if (!one?.upload) return;
    try {
      await ask(`/api/uploads/${one.upload}`, undefined, { method: "DELETE" });
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
    }
  }
}

export const session = new Session();
