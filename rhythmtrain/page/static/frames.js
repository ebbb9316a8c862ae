// Marks the frame whose inside has the focus.  To the page around it such a frame matches neither :focus
// nor :focus-visible, and whoever walks with Tab would not see where they are.

const MARK = "inside";

export function markFrames() {
  window.addEventListener("blur", () => {
    if (document.activeElement instanceof HTMLIFrameElement) document.activeElement.classList.add(MARK);
  });
  window.addEventListener("focus", () => {
    for (const each of document.querySelectorAll(`iframe.${MARK}`)) each.classList.remove(MARK);
  });
}
