/** Bytes as they are read. */
export function sized(bytes: number): string {
  if (bytes < 1000) return `${bytes}\u00a0B`;
  if (bytes < 1e6) return `${(bytes / 1e3).toFixed(0)}\u00a0kB`;
  return bytes < 1e9 ? `${(bytes / 1e6).toFixed(1)}\u00a0MB` : `${(bytes / 1e9).toFixed(1)}\u00a0GB`;
}
