// What stands at the foot of the stage for a while: a word about a key, the line of keys, the clock.

const NOTICE_MS = 6000;
const KEYS_MS = 9000;

const at = (id) => document.getElementById(id);
const signs = Object.fromEntries(
  [...document.querySelectorAll("#signs > span")].map((sign) => [sign.dataset.sign, sign]),
);
let noticeTimer = null;
let keysTimer = null;

export const filled = (sentence, gaps) =>
  sentence.replace(/\{(\w+)\}/g, (whole, gap) => gaps[gap] ?? whole);

export function notice(sentence) {
  // The serif has no flat and no sharp: they are drawn by the room, as in the name of the key.
  const parts = sentence.split(/([♭♯])/).map((piece) => (signs[piece] ? signs[piece].cloneNode(true) : piece));
  at("notice").replaceChildren(...parts);
  clearTimeout(noticeTimer);
  noticeTimer = setTimeout(() => at("notice").replaceChildren(), NOTICE_MS);
}

export function hushNotice() {
  clearTimeout(noticeTimer);
  at("notice").replaceChildren();
}

export function showKeys(all) {
  at("keys").classList.remove("faded");
  at("keys").classList.toggle("all", all);
  clearTimeout(keysTimer);
  keysTimer = setTimeout(() => at("keys").classList.add("faded"), KEYS_MS);
}

let clockTimer = null;

// Counts up, or down from the seconds that the choir has to study a line, and then stands still.
export function startClock() {
  const began = performance.now();
  const study = Number(at("clock").dataset.study);
  const show = () => {
    const gone = Math.floor((performance.now() - began) / 1000);
    const seconds = study ? Math.max(study - gone, 0) : gone;
    at("clock").classList.toggle("over", Boolean(study) && seconds === 0);
    at("clock").textContent = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
  };
  show();
  clockTimer = setInterval(show, 250);
}

export function stopClock() {
  clearInterval(clockTimer);
}

export function turnScheme() {
  const root = document.documentElement;
  const dark = root.dataset.scheme
    ? root.dataset.scheme === "night"
    : matchMedia("(prefers-color-scheme: dark)").matches;
  root.dataset.scheme = dark ? "paper" : "night";
  try {
    localStorage.setItem("scheme", root.dataset.scheme);
  } catch {
    // It holds for this page only.
  }
}

document.addEventListener("pointermove", () => {
  if (!at("keys").classList.contains("all")) showKeys(false);
});
