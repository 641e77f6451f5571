// Sounds: a tuning fork to press instead of the browser's own player. One sounds at a time.

const volumeKey = "volume";
let volume = 0.6;

export function takeOverPlayers(sheet) {
  for (const player of sheet.querySelectorAll(".player")) takeOver(player);
}

function takeOver(player) {
  const audio = player.querySelector("audio");
  const button = document.createElement("button");
  button.type = "button";
  button.className = "fork";
  button.append(player.querySelector("svg"), player.querySelector(".name"));
  const words = button.querySelector(".name");
  const part = player.closest("li")?.querySelector(".part");
  if (part) {
    const whose = document.createElement("span");
    whose.className = "heard";
    whose.textContent = part.textContent;
    button.append(whose);
  }
  audio.controls = false;
  audio.removeAttribute("aria-labelledby");
  const told = document.createElement("span");
  told.className = "told";
  told.setAttribute("role", "status");
  player.prepend(button, told);

  const show = () => {
    const sounding = !audio.paused && !audio.ended;
    button.classList.toggle("sounding", sounding);
    words.textContent = sounding ? player.dataset.stop : player.dataset.hear;
  };
  for (const event of ["play", "pause", "ended", "error"]) audio.addEventListener(event, show);
  button.addEventListener("click", () => {
    if (!audio.paused) {
      audio.pause();
      audio.currentTime = 0;
      return;
    }
    for (const other of document.querySelectorAll("audio")) other.pause();
    told.textContent = "";
    // A sound that did not come is asked for anew; by itself it never would be.
    if (audio.error) audio.load();
    audio.currentTime = 0;
    audio.volume = volume;
    audio.play().catch((error) => {
      show();
      if (error.name !== "AbortError") told.textContent = player.dataset.lost;
    });
  });
}

// Low to begin with; the choice stays on this device.
export function followVolume() {
  const slider = document.getElementById("volume");
  if (!slider) return;
  try {
    volume = Number(localStorage.getItem(volumeKey)) || volume;
  } catch {
    // Storage may be closed to us; then every page begins at the same loudness.
  }
  slider.value = Math.round(volume * 100);
  slider.closest(".volume").hidden = false;
  slider.addEventListener("input", () => {
    volume = slider.value / 100;
    for (const audio of document.querySelectorAll("audio")) audio.volume = volume;
    try {
      localStorage.setItem(volumeKey, String(volume));
    } catch {
      // It holds for this page only.
    }
  });
}

export function loudness() {
  return volume;
}
