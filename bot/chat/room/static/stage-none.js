// The stage has nothing to show: whoever came here by a clicker goes back by any of its keys.
const KEYS = new Set(["PageDown", "PageUp", "ArrowRight", "ArrowLeft", ".", "b"]);

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.repeat || !KEYS.has(event.key)) return;
  event.preventDefault();
  history.back();
});
