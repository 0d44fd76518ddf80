/** What was chosen and typed in the field room, kept in the browser over a reload. */
import { ask, Refusal } from "../../lib/api/client";
import type { Problem, Shapes } from "../../lib/api/types";
import { Sending } from "../../lib/state/sending.svelte";
import { store } from "../../lib/state/store.svelte";
import { uploads, type Holder, type Upload } from "../../lib/state/uploads.svelte";

interface Given {
  id: string;
  name: string;
}

interface Kept {
  date: string;
  launches: number;
  mapping: string;
  report: Given | null;
  route: Given | null;
}

const KEY = "overarm.field";
export const LAUNCHES = [2000, 10_000, 50_000] as const;

/** Today as a sheet prints it. */
export const today = (): string =>
  new Date().toLocaleDateString("en-GB", { day: "numeric", month: "long", year: "numeric" });

class Field implements Holder {
  readonly room = "field";
  /** "" stands for today. */
  date = $state("");
  launches = $state<number>(10_000);
  mapping = $state("");
  report = $state.raw<Given | null>(null);
  route = $state.raw<Given | null>(null);
  /** What the report's names may be; null until it was looked at, or where there is nothing to look at. */
  draft = $state.raw<Shapes["DraftAnswer"] | null>(null);
  readonly sending = { report: new Sending("field.report"), route: new Sending("field.route") };
  busy = $state(false);
  problems = $state.raw<Problem[]>([]);

  constructor() {
    Object.assign(this, store.read<Kept>(KEY));
  }

  keep(): void {
    const { date, launches, mapping, report, route } = this;
    const kept: Kept = { date, launches, mapping, report, route };
    store.write(KEY, kept);
  }

  async tried(act: () => Promise<void>): Promise<void> {
    this.problems = [];
    this.busy = true;
    try {
      await act();
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.problems = error.problems;
    } finally {
      this.busy = false;
      this.keep();
    }
  }

  get held(): { upload: string; name: string }[] {
    return [this.report, this.route].filter((one) => one !== null).map(({ id, name }) => ({ upload: id, name }));
  }

  letGo(upload: string): void {
    for (const what of ["report", "route"] as const) if (this[what]?.id === upload) this.leave(what);
  }

  /** Give a file to the server; whether it has it now. */
  give(what: "report" | "route", file: File): Promise<boolean> {
    return this.sending[what].give([file], (said) => this.choose(what, said));
  }

  /** Take one that the workbench keeps. */
  choose(what: "report" | "route", one: Upload): void {
    uploads.lost.field = [];
    this[what] = { id: one.id, name: one.name };
    if (what === "report") this.draft = null;
    this.keep();
  }

  leave(what: "report" | "route"): void {
    this[what] = null;
    if (what === "report") [this.draft, this.problems] = [null, []];
    this.keep();
  }

  /** Ask what the names of the report may be. */
  look(setup: unknown): Promise<void> {
    const { report } = this;
    return this.tried(async () => {
      const draft = await ask<Shapes["DraftAnswer"]>("/api/field/draft", { setup, report: report?.id });
      if (report === this.report) this.draft = draft;
    });
  }
}

export const field = new Field();
/** A key of the settings card as it is read. */
export const said = (key: string): string => key.replaceAll("_", " ").replace(".", ": ");
