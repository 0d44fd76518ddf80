/** The sounds and shakes of the countdown; begun by a touch, as browsers ask. */

let context: AudioContext | null = null;

export function ready(): void {
  context ??= new AudioContext();
  void context.resume();
}

/** A tone; a touch on the skin too where the phone can. */
export function tone(hertz: number, seconds: number, muted: boolean): void {
  navigator.vibrate?.(seconds * 1000);
  if (muted || context?.state !== "running") return;
  const [source, loudness] = [context.createOscillator(), context.createGain()];
  const now = context.currentTime;
  source.frequency.value = hertz;
  loudness.gain.setValueAtTime(0, now);
  loudness.gain.linearRampToValueAtTime(0.5, now + 0.01);
  loudness.gain.setValueAtTime(0.5, now + seconds - 0.02);
  loudness.gain.linearRampToValueAtTime(0, now + seconds);
  source.connect(loudness).connect(context.destination);
  source.start(now);
  source.stop(now + seconds);
}
