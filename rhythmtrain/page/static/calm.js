// How the page is to look and how much of it may change while it plays: what a person set, what their
// system asks for, and at most three changes a second (WCAG 2.3.1).

// A little over a third of a second: the steps of a screen never make four changes of three.
export const SHORTEST_S = 0.345;

export const still = () => localStorage.getItem("still") === "yes";

// How much larger than usual letters and notes are to be.
export const sizeSet = () => Number(localStorage.getItem("size")) || 1;

export function applySize() {
  document.documentElement.style.fontSize = `${sizeSet() * 100}%`;
  document.documentElement.classList.toggle("strong", localStorage.getItem("strong") === "yes");
}

export const lessMotion = () => window.matchMedia("(prefers-reduced-motion: reduce)").matches;

// Whether a bar lasts long enough to be shown by itself.
export const lasts = (bar) => bar.stop_s - bar.start_s >= SHORTEST_S;
