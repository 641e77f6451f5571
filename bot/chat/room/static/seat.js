// A singer's page: the code from a slip's square, the part that only this device knows, printing.

// The code stands behind the #, which is sent to nobody; it leaves the address bar at once.
// Places in a page stand there too, that of the link past the head for one: they are no codes.
const CODE = /^#[0-9a-z]{4}-[0-9a-z]{4}$/i;
const field = document.getElementById("code");
function takeCode() {
  if (!CODE.test(location.hash)) return;
  if (!field) {
    // Somebody else's slip, or the same one after the visit ended: the door takes it.
    location.replace(`/seat?another${location.hash}`);
    return;
  }
  field.value = location.hash.slice(1);
  history.replaceState(null, "", location.pathname);
  field.form.querySelector("button[type=submit]").focus();
}
takeCode();
addEventListener("hashchange", takeCode);

// Where parts read different lines: mine, the others', all of them.
function mineFirst(part) {
  const box = document.querySelector(".hear");
  const lines = [...(box?.querySelectorAll("li[data-label]") ?? [])];
  lines.sort((one, other) => numberOf(one) - numberOf(other));
  for (const line of lines) {
    const { label } = line.dataset;
    const mine = numberOf(line) === part;
    line.querySelector(".part").textContent = mine ? box.dataset.mine.replace("{part}", label) : label;
    if (mine) line.parentElement.prepend(line);
    else line.parentElement.insertBefore(line, line.parentElement.querySelector("li:not([data-label])"));
  }
}

function numberOf(line) {
  return Number(line.querySelector(".once").dataset.part);
}

const choice = document.querySelector(".my-part");
const select = document.getElementById("part");
if (choice && select.options.length > 1) {
  const key = `part ${choice.dataset.choir}`;
  const show = () => {
    mineFirst(select.selectedIndex);
    const picture = document.querySelector("article .music picture");
    const { phone, picture: wide } = select.selectedOptions[0].dataset;
    picture.querySelector("source").srcset = phone;
    picture.querySelector("img").src = wide;
  };
  try {
    const kept = Number(localStorage.getItem(key));
    if (kept > 0 && kept < select.options.length) {
      select.selectedIndex = kept;
      show();
    }
  } catch {
    // Storage may be closed to us; then the first part is shown.
  }
  mineFirst(select.selectedIndex);
  select.addEventListener("change", () => {
    show();
    try {
      localStorage.setItem(key, String(select.selectedIndex));
    } catch {
      // It holds for this page only.
    }
  });
  choice.hidden = false;
}

// Without a network a tap would end on the browser's own page; it is said here instead.
const away = document.getElementById("away");
if (away) {
  for (const form of document.querySelectorAll("main form[method=post]")) {
    form.addEventListener("submit", (event) => {
      away.hidden = navigator.onLine;
      away.textContent = navigator.onLine ? "" : away.dataset.away;
      if (navigator.onLine) return;
      event.preventDefault();
      form.append(away);
    });
  }
}

for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => print());
}
