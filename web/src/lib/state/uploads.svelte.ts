/** The files that the workbench keeps: given to it once, listed with what uses them, used again, removed. */
import { ask, Refusal, upload } from "../api/client";
import type { Shapes } from "../api/types";
import type { RoomName } from "./place.svelte";

export type Upload = Shapes["UploadSaid"];

/** A room's own memory of uploads: what it asks with, by id. */
export interface Holder {
  readonly room: RoomName;
  readonly held: readonly { upload: string; name: string }[];
  /** Ask with this one no more. */
  letGo(upload: string): void;
}

class Uploads {
  /** The newest first; null before the server was asked. */
  list = $state.raw<readonly Upload[] | null>(null);
  /** What a room had chosen and the workbench does not keep any more, by its name. */
  lost = $state<Partial<Record<RoomName, string[]>>>({});
  /** Counts what came and went: a list that was asked for before that is not taken. */
  #changes = 0;

  /** Give a file to the workbench. Throws `Refusal`. */
  async send(file: Blob, name: string): Promise<Upload> {
    const said = await upload(file, name);
    this.#changes++;
    if (this.list) this.list = [said, ...this.list];
    return said;
  }

  /** Read the list anew; whether the server gave it. */
  async look(): Promise<boolean> {
    try {
      for (;;) {
        const before = this.#changes;
        const list = await ask<Upload[]>("/api/uploads");
        if (before !== this.#changes) continue;
        this.list = list;
        return true;
      }
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      return false;
    }
  }

  /** Let a room go of what is not there any more, and remember what it was. */
  async check(holder: Holder): Promise<void> {
    const before = [...holder.held];
    if (!(await this.look())) return;
    const there = new Set(this.list?.map((one) => one.id));
    const gone = before.filter((one) => !there.has(one.upload));
    for (const one of gone) holder.letGo(one.upload);
    this.lost[holder.room] = gone.map((one) => one.name);
  }

  /** Remove one for good, here and from every room. Throws `Refusal`, as long as a job needs it. */
  async remove(id: string, holders: readonly Holder[]): Promise<void> {
    try {
      await ask(`/api/uploads/${id}`, undefined, { method: "DELETE" });
    } catch (error) {
      if (!(error instanceof Refusal) || error.status !== 404) throw error;
    }
    this.#changes++;
    for (const one of holders) one.letGo(id);
    this.list = this.list?.filter((one) => one.id !== id) ?? null;
  }
}

export const uploads = new Uploads();
