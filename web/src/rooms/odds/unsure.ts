/** What the odds may be if the guesses are off, as the launch sheet says it: whole percent between 1 and 99. */

export function unsureWords(p5: number, p95: number): string {
  const whole = (share: number): number => Math.min(99, Math.max(1, Math.round(100 * share)));
  const [low, high] = [whole(p5), whole(p95)];
  return low < high ? `If the guesses are off: ${low} to ${high}\u00a0%` : `If the guesses are off: still ${low}\u00a0%`;
}
