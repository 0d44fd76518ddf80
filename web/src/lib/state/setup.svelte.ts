/** The setup that is open: its text, what lies beside it, its history, and the copy that the server keeps. */
import { isMap } from "yaml";
import { ask, LONGEST_TEXT, problem, Refusal } from "../api/client";
import type { Problem, SetupText, Shapes } from "../api/types";
import { saveText } from "../save";
import { counted } from "../units";
import type { Holder } from "./uploads.svelte";
import { changed, read, valueAt, withItem, withoutItem, type Raw } from "../yaml";
import { Checks, type CheckAnswer } from "./checks.svelte";
import { store, windowStore } from "./store.svelte";

export type { CheckAnswer };
type Draft = Shapes["DraftSaid"];
type Saved = "saved" | "saving" | "not saved" | "changed elsewhere";

const KEY = "overarm.setup";
const SAVE_AFTER_MS = 700;
const MOST_STEPS = 200;
const SAME_STEP_MS = 900;
const AGAIN_AFTER_MS = 3000;
/** So long a save may take before it is sent again. */
const NEVER_MS = 45_000;

interface Kept {
  id: string;
  name: string;
  text: string;
  files: Record<string, string>;
  revision: number;
  dirty: boolean;
}

const tooLong = (text: string): Problem | null =>
  text.length > LONGEST_TEXT
    ? problem(
        `The text has ${counted(text.length)} characters; the workbench takes ${counted(LONGEST_TEXT)}`,
        "Take out what is no part of a setup, undo, or open the right file",
      )
    : null;

class OpenSetup implements Holder {
  readonly room = "describe";
  id = $state("");
  name = $state("");
  text = $state("");
  files = $state.raw<Record<string, string>>({});
  saved = $state<Saved>("saved");
  saveProblems = $state.raw<Problem[]>([]);
  #revision = 0;
  #back = $state.raw<string[]>([]);
  #ahead = $state.raw<string[]>([]);
  #lastStep = { at: 0, path: "" };
  #saveTimer = 0;
  readonly #checks = new Checks(() => this.body);
  #saving: Promise<void> = Promise.resolve();
  /** Texts that were sent and never answered: the server may have kept one of them. */
  readonly #unanswered = new Set<string>();
  /** The text that the user has as a file. */
  #copied = "";

  readonly read = $derived(read(tooLong(this.text) ? "" : this.text));

  /** Whether one is open, be its text empty. */
  get isOpen(): boolean {
    return this.id !== "";
  }

  /** Whether the text is made of keys and values, so that a form can show it. */
  readonly isForm = $derived(this.read.faults.length === 0 && isMap(this.read.document.contents));

  /** The server's check of the text as it is now, or the last one while a new one is on its way. */
  get check(): CheckAnswer | null {
    return this.#checks.answer;
  }

  /** What is wrong with the text. */
  get problems(): Problem[] {
    return this.#checks.problems;
  }

  /** Why it is not known what is wrong with the text: the server did not answer. */
  get unanswered(): Problem[] {
    return this.#checks.unanswered;
  }

  /** The setup as requests take it. */
  get body(): SetupText {
    return { text: this.text, files: this.files };
  }

  get canUndo(): boolean {
    return this.#back.length > 0;
  }

  get canRedo(): boolean {
    return this.#ahead.length > 0;
  }

  /** A value as it is written, "" if it is not there or is a card. */
  value(path: string): string {
    const found = valueAt(this.read.tree, path);
    return typeof found === "string" ? found : "";
  }

  has(path: string): boolean {
    return valueAt(this.read.tree, path) !== undefined;
  }

  /** Write one value, or take it out with null; comments and layout stay. */
  set(path: string, value: string | Raw | null): void {
    this.write(changed(this.text, path, value), path);
  }

  /** Write several values as one step. */
  setAll(changes: Record<string, string | Raw | null>): void {
    let text = this.text;
    for (const [path, value] of Object.entries(changes)) text = changed(text, path, value);
    this.write(text, Object.keys(changes).join(" "));
  }

  /** Put an entry at the end of a list. */
  add(path: string, item: Raw): void {
    this.write(withItem(this.text, path, item));
  }

  /** Take an entry out of a list. */
  drop(path: string, index: number): void {
    this.write(withoutItem(this.text, path, index));
  }

  /** Take a whole new text; steps on the same field in one breath are one step of the history. */
  write(text: string, path = ""): void {
    if (text === this.text) return;
    const now = Date.now();
    if (!(path && path === this.#lastStep.path && now - this.#lastStep.at < SAME_STEP_MS))
      this.#back = [...this.#back, this.text].slice(-MOST_STEPS);
    this.#lastStep = { at: now, path };
    this.#ahead = [];
    this.#take(text);
  }

  undo(): void {
    const before = this.#back.at(-1);
    if (before === undefined) return;
    this.#back = this.#back.slice(0, -1);
    this.#ahead = [...this.#ahead, this.text];
    this.#lastStep = { at: 0, path: "" };
    this.#take(before);
  }

  redo(): void {
    const next = this.#ahead.at(-1);
    if (next === undefined) return;
    this.#ahead = this.#ahead.slice(0, -1);
    this.#back = [...this.#back, this.text];
    this.#lastStep = { at: 0, path: "" };
    this.#take(next);
  }

  /** Tie an uploaded file to a name that the text uses. */
  addFile(name: string, id: string): void {
    this.files = { ...this.files, [name]: id };
    this.#take(this.text);
  }

  /** What lies beside it, as the workbench keeps it. */
  get held(): { upload: string; name: string }[] {
    return Object.entries(this.files).map(([name, upload]) => ({ upload, name }));
  }

  /** Untie what is not kept any more from the names that the text uses. */
  letGo(upload: string): void {
    const left = Object.entries(this.files).filter(([, id]) => id !== upload);
    if (left.length === Object.keys(this.files).length) return;
    this.files = Object.fromEntries(left);
    this.#take(this.text);
  }

  /** Begin with what was open last, or with nothing. */
  async begin(): Promise<void> {
    const last = windowStore.read<Kept>(KEY) ?? store.read<Kept>(KEY);
    if (!last?.id) return;
    this.#show(last, last.revision, last.dirty);
    if (last.dirty) return this.#saveSoon();
    const unchanged = (): boolean => this.id === last.id && this.saved === "saved";
    try {
      const draft = await ask<Draft>(`/api/drafts/${last.id}`);
      if (draft.revision > last.revision && unchanged()) this.#show(draft, draft.revision);
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      if (error.status !== 404 || !unchanged()) return;
      this.#revision = 0;
      this.#take(this.text);
    }
  }

  /** Open a draft that the server keeps. Throws `Refusal`. */
  async open(id: string): Promise<void> {
    await this.#settle();
    const draft = await ask<Draft>(`/api/drafts/${id}`);
    this.#fresh(draft, draft.revision);
  }

  /** Keep a text as a new draft and open it. Throws `Refusal`. */
  async make(name: string, text: string, files: Record<string, string> = {}): Promise<void> {
    await this.#settle();
    const draft = await ask<Draft>("/api/drafts", { name, text, files });
    this.#fresh(draft, draft.revision);
  }

  /** Take what the server has in place of what is here; undo brings back what was here. */
  async takeTheirs(): Promise<void> {
    clearTimeout(this.#saveTimer);
    await this.#saving;
    const theirs = await this.#theirs();
    if (!theirs) return;
    this.#back = [...this.#back, this.text].slice(-MOST_STEPS);
    this.#ahead = [];
    this.#show(theirs, theirs.revision);
  }

  /** Keep what is here over what the server has. */
  async keepMine(): Promise<void> {
    clearTimeout(this.#saveTimer);
    await this.#saving;
    const theirs = await this.#theirs();
    if (!theirs) return;
    this.#revision = theirs.revision;
    await this.#saveNow();
  }

  async #theirs(): Promise<Draft | null> {
    try {
      return await ask<Draft>(`/api/drafts/${this.id}`);
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.saved = "not saved";
      this.saveProblems = error.problems;
      if (error.status === 404) this.#revision = 0;
      this.#saveSoon(AGAIN_AFTER_MS);
      return null;
    }
  }

  /** Before another setup takes the place of this one: what was typed last goes to the server, as a draft of
   * its own if the one there was changed elsewhere or is gone. Throws `Refusal`. */
  async #settle(): Promise<void> {
    clearTimeout(this.#saveTimer);
    await this.#saving;
    if (!this.isOpen || this.saved === "saved") return;
    if (tooLong(this.text)) {
      if (this.#copied === this.text) return;
      throw new Refusal(0, [problem("The open text is too long to be kept", "Press Save a copy over the room, then open the other one")]);
    }
    await this.#saveNow();
    if (this.#isClash() || this.#revision === 0) {
      this.#revision = 0;
      await this.#saveNow();
    }
    clearTimeout(this.#saveTimer);
    if (this.saveProblems.length === 0) return;
    this.#saveSoon(AGAIN_AFTER_MS);
    throw new Refusal(0, this.saveProblems);
  }

  #isClash(): boolean {
    return this.saved === "changed elsewhere";
  }

  #fresh(draft: Draft, revision: number): void {
    this.#back = [];
    this.#ahead = [];
    this.#checks.forget();
    this.#show(draft, revision);
  }

  #show(draft: { id: string; name: string; text: string; files: Record<string, string> }, revision: number, dirty = false): void {
    this.id = draft.id;
    this.name = draft.name;
    this.files = draft.files;
    this.text = draft.text;
    this.#revision = revision;
    this.saved = dirty ? "saving" : "saved";
    this.saveProblems = [];
    this.#keep(dirty);
    this.#look(0);
  }

  #take(text: string): void {
    this.text = text;
    this.name = this.value("name") || this.name;
    this.saved = "saving";
    this.#keep(true);
    this.#saveSoon();
    this.#look();
  }

  /** Ask again now what the server did not answer: whether the text is kept, and what is wrong with it. */
  again(): void {
    if (this.saved === "not saved") this.#saveSoon(0);
    this.#look(0);
  }

  /** Hand the text to the user as a file. */
  saveCopy(): void {
    saveText(this.text, `${this.name || "setup"}.yaml`, "application/yaml");
    this.#copied = this.text;
  }

  #look(after?: number): void {
    const long = tooLong(this.text);
    if (long) this.#checks.refuse([long]);
    else this.#checks.soon(after);
  }

  /** Keep a copy in the browser at once, so that nothing typed is lost if the server is gone: for this window,
   * and for the next one that is opened. */
  #keep(dirty: boolean): void {
    const { id, name, text, files } = this;
    const kept: Kept = { id, name, text, files, revision: this.#revision, dirty };
    windowStore.write(KEY, kept);
    store.write(KEY, kept);
  }

  #saveSoon(after = SAVE_AFTER_MS): void {
    clearTimeout(this.#saveTimer);
    this.#saveTimer = window.setTimeout(() => void this.#saveNow(), after);
  }

  /** Save when the save before has ended: two at a time would look like a change elsewhere. */
  #saveNow(): Promise<void> {
    const ended = this.#saving.then(() => this.#save());
    this.#saving = ended.catch(() => {});
    return ended;
  }

  async #save(): Promise<void> {
    const { id, name, text, files } = this;
    if (tooLong(text)) {
      [this.saved, this.saveProblems] = ["not saved", []];
      return;
    }
    const how = { signal: AbortSignal.timeout(NEVER_MS) };
    const form = { name: name.slice(0, 300) || "without a name", text, files };
    try {
      const draft =
        this.#revision === 0
          ? await ask<Draft>("/api/drafts", form, how)
          : await ask<Draft>(`/api/drafts/${id}`, { ...form, revision: this.#revision }, { ...how, method: "PUT" });
      this.#revision = draft.revision;
      this.#unanswered.clear();
      this.id = draft.id;
      this.saveProblems = [];
      if (this.text === text) {
        this.saved = "saved";
        this.#keep(false);
      } else this.#keep(true);
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      if (error.passing) this.#unanswered.add(text);
      if (error.status === 409 && (await this.#isOurs())) return this.#save();
      this.saveProblems = error.problems;
      this.saved = error.status === 409 ? "changed elsewhere" : "not saved";
      if (error.status === 404) this.#revision = 0;
      if (error.passing || error.status === 404) this.#saveSoon(AGAIN_AFTER_MS);
    }
  }

  /** True if what the server has is a text of ours whose answer was lost; its revision is then ours. */
  async #isOurs(): Promise<boolean> {
    try {
      const theirs = await ask<Draft>(`/api/drafts/${this.id}`);
      if (!this.#unanswered.delete(theirs.text)) return false;
      this.#revision = theirs.revision;
      return true;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      return false;
    }
  }
}

export const setup = new OpenSetup();
