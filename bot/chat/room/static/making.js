// What is made in the background: how far it is, and the page anew as soon as it is there.
const EVERY = 2000; // ms
const place = document.querySelector("[data-making]");

async function look() {
  try {
    const answer = await fetch(place.dataset.making);
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const now = page.querySelector("[data-making]");
    if (answer.ok && !now) return location.replace(place.dataset.making);
    if (now) tell(now);
  } catch {
    // The program is being started again: it goes on with what it was making.
  }
  setTimeout(look, EVERY);
}

function tell(now) {
  const [bar, far] = [place.querySelector("progress"), place.querySelector("[role=status]")];
  const [newBar, newFar] = [now.querySelector("progress"), now.querySelector("[role=status]")];
  bar.max = newBar.max;
  bar.value = newBar.value;
  if (far.textContent !== newFar.textContent) far.textContent = newFar.textContent;
}

if (place) setTimeout(look, EVERY);
