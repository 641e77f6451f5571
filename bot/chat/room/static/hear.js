// Hearing the line: after a try of one's own, once, with a cursor in the picture.
import { Picture } from "./stage-picture.js";
import { loudness } from "./players.js";

const key = (box) => `tried ${box.dataset.signs}`;

export function followHearing(sheet) {
  const box = sheet.querySelector(".hear");
  if (!box) return;
  const tried = box.querySelector(".tried");
  const lines = box.querySelector(".forks");
  const open = () => {
    tried.hidden = true;
    lines.hidden = false;
  };
  box.hidden = false;
  // The tap stays in this window; nobody else learns of it.
  if (remembered(box)) open();
  tried.addEventListener("click", () => {
    remember(box);
    open();
    lines.querySelector("button").focus();
  });
  for (const button of box.querySelectorAll(".once")) hearOnce(sheet, box, button);
}

function hearOnce(sheet, box, button) {
  const audio = button.parentElement.querySelector("audio");
  const told = box.querySelector(".told");
  const shown = new Shown(sheet.querySelector(".music"));
  button.addEventListener("click", async () => {
    if (!audio.paused) return void audio.pause();
    told.textContent = "";
    try {
      // Asked for before it is played: the room says whether it is open yet.
      const answer = await fetch(audio.dataset.src);
      if (!answer.ok) {
        told.textContent = answer.status === 403 ? box.dataset.closed : box.dataset.lost;
        return;
      }
      const signs = await (await fetch(box.dataset.signs)).json();
      await shown.show(signs);
    } catch {
      told.textContent = box.dataset.lost;
      return;
    }
    for (const other of document.querySelectorAll("audio")) other.pause();
    audio.src = audio.dataset.src;
    audio.volume = loudness();
    await audio.play().catch(() => (told.textContent = box.dataset.lost));
  });
  audio.addEventListener("play", () => {
    button.textContent = box.dataset.stop;
    shown.follow(() => (audio.currentTime * box.dataset.bpm) / 60, Number(button.dataset.part));
  });
  for (const event of ["pause", "ended", "error"]) {
    audio.addEventListener(event, () => {
      button.textContent = box.dataset.once;
      shown.hide();
      if (event !== "ended") return;
      button.disabled = true;
      told.textContent = box.dataset.heard;
    });
  }
}

// The engraving drawn into the page in the place of its picture, as long as a line sounds.
class Shown {
  constructor(figure) {
    this.figure = figure;
    this.place = document.createElement("div");
    this.place.className = "drawn";
    this.picture = new Picture(this.place);
  }

  async show(signs) {
    const image = this.figure.querySelector("img");
    const svg = await (await fetch(image.currentSrc)).text();
    this.picture.show(svg, signs);
    this.figure.append(this.place);
    this.figure.querySelector("picture").hidden = true;
  }

  follow(pulse, part) {
    this.picture.follow(pulse, part);
  }

  hide() {
    this.picture.forget();
    this.place.remove();
    this.figure.querySelector("picture").hidden = false;
  }
}

function remembered(box) {
  try {
    return sessionStorage.getItem(key(box)) === "yes";
  } catch {
    return false;
  }
}

function remember(box) {
  try {
    sessionStorage.setItem(key(box), "yes");
  } catch {
    // It holds for this page only.
  }
}
