// The board: makes its sheets playable and puts new ones up without a reload.
import { followPulse } from "./pulse.js";
import { followHearing } from "./hear.js";
import { takeOverPlayers, followVolume } from "./players.js";

const folder = document.getElementById("sheets");

function bringToLife(sheet) {
  takeOverPlayers(sheet);
  followRoutine(sheet);
  followPulse(sheet);
  followHearing(sheet);
  retryPictures(sheet);
}

// The routine: its words become buttons, and a pencil mark stands under the one we are at.
function followRoutine(sheet) {
  const steps = [...sheet.querySelectorAll(".steps > li")];
  const hint = sheet.querySelector(".routine > .hint");
  const buttons = steps.map((step) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = step.textContent;
    step.replaceChildren(button);
    return button;
  });
  const mark = (index) => {
    buttons.forEach((button, at) => {
      if (at === index) button.setAttribute("aria-current", "step");
      else button.removeAttribute("aria-current");
    });
    hint.textContent = steps[index].dataset.hint;
  };
  buttons.forEach((button, index) => {
    button.addEventListener("click", () => mark(index));
    button.addEventListener("keydown", (event) => {
      const to = { ArrowRight: index + 1, ArrowLeft: index - 1 }[event.key];
      if (to === undefined || !buttons[to]) return;
      event.preventDefault();
      buttons[to].focus();
      mark(to);
    });
  });
  if (buttons.length) mark(0);
}

// A picture may still be in the making when it is first asked for, or have failed before we listen.
function retryPictures(sheet) {
  for (const image of sheet.querySelectorAll(".music img")) {
    let tries = 0;
    const again = () => {
      tries += 1;
      if (tries > 4) return;
      setTimeout(() => {
        const source = image.parentElement.querySelector("source");
        if (source) source.srcset = `${source.srcset}`;
        image.src = `${image.src}`;
      }, 1500 * tries);
    };
    image.addEventListener("error", again);
    if (image.complete && image.currentSrc && !image.naturalWidth) again();
  }
}

// In use: something of it sounds, or it has the focus and was touched a moment ago.
const TOUCH_MS = 60 * 1000;
let touched = -TOUCH_MS;
for (const event of ["keydown", "pointerdown"]) {
  document.addEventListener(event, () => (touched = performance.now()));
}

function busy(sheet) {
  return (
    (sheet.contains(document.activeElement) && performance.now() - touched < TOUCH_MS) ||
    [...sheet.querySelectorAll("audio")].some((audio) => !audio.paused) ||
    sheet.querySelector(".count[aria-pressed=true]") !== null
  );
}

// Fetch the board as it stands and take over what is not here yet.
async function catchUp() {
  const answer = await fetch(location.pathname + location.search, { headers: { Accept: "text/html" } });
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const notice = page.getElementById("notice");
  if (notice) document.getElementById("notice").textContent = notice.textContent;
  const have = new Set([...folder.children].map((sheet) => sheet.dataset.reading));
  const fresh = [...page.querySelectorAll("#sheets > .sheet")].filter(
    (sheet) => !have.has(sheet.dataset.reading),
  );
  if (!fresh.length) return;
  folder.querySelector(".nothing")?.remove();
  for (const old of folder.querySelectorAll(".sheet[open]:not([data-story])")) {
    if (!busy(old)) old.open = false;
  }
  if (fresh.some((sheet) => "story" in sheet.dataset)) {
    // Only one scene is up at a time.
    for (const old of folder.querySelectorAll("[data-story]")) old.remove();
  }
  for (const sheet of fresh) {
    const here = document.importNode(sheet, true);
    const scene = folder.querySelector("[data-story]");
    if (scene) scene.before(here);
    else folder.append(here);
    bringToLife(here);
  }
  const news = document.getElementById("news");
  news.textContent = news.dataset.new;
}

// A school's boards do not all fetch a new sheet in the same instant.
function spreadMs() {
  return Number(folder.dataset.spreadMs ?? 0);
}

// One stream a board, closed while nobody looks: a browser opens only a few connections to a room.
function listen() {
  let stream = null;
  const open = () => {
    if (stream || document.hidden) return;
    stream = new EventSource(folder.dataset.live);
    let told = 0;
    stream.addEventListener("newest", (event) => {
      told += 1;
      const newest = folder.lastElementChild?.dataset.reading ?? "";
      if (!event.data || event.data === newest) return;
      // The first word is this board's alone; later ones come to every board at the same moment.
      setTimeout(() => catchUp().catch(() => {}), told > 1 ? Math.random() * spreadMs() : 0);
    });
    stream.addEventListener("error", () => {
      if (stream.readyState !== EventSource.CLOSED) return;
      stream = null;
      setTimeout(open, 5000);
    });
  };
  const close = () => {
    stream?.close();
    stream = null;
  };
  document.addEventListener("visibilitychange", () => (document.hidden ? close() : open()));
  addEventListener("pagehide", close);
  addEventListener("pageshow", open);
  open();
}

for (const sheet of document.querySelectorAll(".sheet")) bringToLife(sheet);
followVolume();
if (folder) listen();
