/** The recording that the review room looks at: uploaded once, kept over a reload with its mapping. */
import { Refusal, upload } from "../../lib/api/client";
import type { Problem } from "../../lib/api/types";
import { store } from "../../lib/state/store.svelte";

const KEY = "overarm.review";

class Given {
  upload = $state("");
  name = $state("");
  mapping = $state("");
  blades = $state(2);
  busy = $state(false);
  problems = $state.raw<Problem[]>([]);

  constructor() {
    Object.assign(this, store.read<object>(KEY));
  }

  get isSound(): boolean {
    return /\.(wav|flac|ogg|aiff?)$/i.test(this.name);
  }

  /** Look at one that the server has, as it was asked about. */
  show(one: { upload: string; name: string; mapping: string; blades: number }): void {
    Object.assign(this, one);
    this.problems = [];
    this.keep();
  }

  /** Give a file to the server; whether it has it now. */
  async take(file: File): Promise<boolean> {
    this.problems = [];
    this.busy = true;
    try {
      const said = await upload(file, file.name);
      this.upload = said.id;
      this.name = said.name;
      this.mapping = "";
      this.keep();
      return true;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.problems = error.problems;
      return false;
    } finally {
      this.busy = false;
    }
  }

  keep(): void {
    const { upload, name, mapping, blades } = this;
    store.write(KEY, { upload, name, mapping, blades });
  }
}

export const given = new Given();
