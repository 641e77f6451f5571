// Paper or night: what was chosen on this device, else what the device itself prefers.
(function () {
  "use strict";
  const root = document.documentElement;
  root.classList.add("scripted");
  let chosen = null;
  try {
    chosen = localStorage.getItem("scheme");
  } catch {
    // Storage may be closed to us; the device's preference then stands.
  }
  if (chosen === "night" || chosen === "paper") root.dataset.scheme = chosen;

  document.addEventListener("DOMContentLoaded", () => {
    const button = document.getElementById("scheme");
    if (!button) return;
    const night = () =>
      root.dataset.scheme
        ? root.dataset.scheme === "night"
        : matchMedia("(prefers-color-scheme: dark)").matches;
    const name = () => {
      button.textContent = night() ? button.dataset.paper : button.dataset.night;
    };
    button.hidden = false;
    name();
    button.addEventListener("click", () => {
      root.dataset.scheme = night() ? "paper" : "night";
      try {
        localStorage.setItem("scheme", root.dataset.scheme);
      } catch {
        // It holds for this page only.
      }
      name();
    });
  });
})();
