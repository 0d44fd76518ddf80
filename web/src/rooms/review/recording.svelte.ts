/** The recording that the review room looks at: uploaded once, kept over a reload with its mapping. */
import { Sending } from "../../lib/state/sending.svelte";
import { store } from "../../lib/state/store.svelte";
import type { Holder } from "../../lib/state/uploads.svelte";

const KEY = "overarm.review";

class Given implements Holder {
  readonly room = "review";
  /** Its id; "" where none is chosen, or what was chosen is not kept any more. */
  upload = $state("");
  /** Stays when the recording goes: its answer is still of that name. */
  name = $state("");
  mapping = $state("");
  blades = $state(2);
  readonly sending = new Sending("review");

  constructor() {
    Object.assign(this, store.read<object>(KEY));
  }

  get held(): { upload: string; name: string }[] {
    return this.upload ? [{ upload: this.upload, name: this.name }] : [];
  }

  get isSound(): boolean {
    return isSound(this.name);
  }

  /** Look at one that the server has, as it was asked about. */
  show(one: { upload: string; name: string; mapping: string; blades: number }): void {
    Object.assign(this, one);
    this.sending.problems = [];
    this.keep();
  }

  /** Take one that the workbench keeps. */
  choose(one: { id: string; name: string }): void {
    this.show({ upload: one.id, name: one.name, mapping: "", blades: this.blades });
  }

  letGo(upload: string): void {
    if (upload !== this.upload) return;
    this.upload = "";
    this.keep();
  }

  /** Give a file to the server; whether it has it now. */
  take(file: File): Promise<boolean> {
    return this.sending.give([file], (said) => this.choose(said));
  }

  keep(): void {
    const { upload, name, mapping, blades } = this;
    store.write(KEY, { upload, name, mapping, blades });
  }
}

const isSound = (name: string): boolean => /\.(wav|flac|ogg|aiff?)$/i.test(name);
/** Whether a file of that name may be a recording, or the sound of a run. */
export const isRecording = (name: string): boolean => isSound(name) || /\.(csv|tsv|txt|dat|log|parquet|igc|gpx|nmea)$/i.test(name);
export const given = new Given();
