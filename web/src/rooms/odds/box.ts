/** The box of the sliders ends below a whole one, so that none is cut at its edge. */

const EDGES_PX = 16;

/** Keep a box that scrolls as high as a number of whole sliders; for `{@attach}`. */
export function wholeSliders(box: HTMLElement): () => void {
  const fit = (): void => {
    box.style.maxHeight = "";
    if (getComputedStyle(box).overflowY !== "auto") return;
    const room = innerHeight - EDGES_PX;
    const ends = [...box.querySelectorAll<HTMLElement>("[data-knob]")].map((one) => one.offsetTop + one.offsetHeight);
    const last = ends.findLast((end) => end <= room);
    if (last !== undefined && box.scrollHeight > room) box.style.maxHeight = `${last}px`;
  };
  const watch = new ResizeObserver(fit);
  if (box.firstElementChild) watch.observe(box.firstElementChild);
  addEventListener("resize", fit);
  return () => {
    watch.disconnect();
    removeEventListener("resize", fit);
  };
}
