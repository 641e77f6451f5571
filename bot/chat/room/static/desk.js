// The desk: the browser's time zone, fields that belong together, an example line, forms that are
// sent once, the lock.

const IDLE_MS = 10 * 60 * 1000;
// The fields that an example line depends on.
const READ_FROM = /^(voices|sequence|step_|clef_|low_|high_|tess_|mark_do$|key$|measures$)/;
const AWAKE_MS = 60 * 1000;
const SENT_MS = 5000;

const form = document.getElementById("choir-form");
if (form) {
  if (form.hasAttribute("data-untouched")) preferOwnZone();
  showWhatBelongs();
  showStepsOfSequence();
  showExample();
}
document.querySelector("[data-focus]")?.focus();
sendOnce();
relock();

function preferOwnZone() {
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const field = form.elements.zone;
  if ([...field.options].some((option) => option.value === zone)) field.value = zone;
}

// Weekdays or a rotation, and only the voices that this choir has.
function showWhatBelongs() {
  const follow = () => {
    const rotation = form.querySelector("[name=meets][value=rotation]").checked;
    form.querySelector(".for-rotation").hidden = !rotation;
    for (const set of form.querySelectorAll("[data-voice]")) {
      set.hidden = !form.querySelector(`[name=voices][value=${set.dataset.voice}]`).checked;
    }
  };
  form.addEventListener("change", follow);
  follow();
}

// Only the steps of the order that is chosen; the same step where the new order has it.
function showStepsOfSequence() {
  const order = form.elements.sequence;
  const groups = [...form.querySelectorAll("optgroup[data-sequence]")];
  const fields = new Map(groups.map((group) => [group, group.parentElement]));
  const follow = () => {
    for (const field of new Set(fields.values())) {
      const step = field.value;
      const own = groups.filter((group) => fields.get(group) === field);
      field.replaceChildren(...own.filter((group) => group.dataset.sequence === order.value));
      const kept = [...field.options].find((option) => option.value === step);
      field.selectedIndex = kept ? kept.index : 0;
    }
  };
  if (groups.length) {
    order.addEventListener("change", follow);
    follow();
  }
}

function showExample() {
  const box = document.getElementById("example");
  const image = box.querySelector("img");
  const none = box.querySelector("p");
  let timer = 0;
  const show = () => {
    box.setAttribute("aria-busy", "true");
    const wish = new URLSearchParams();
    for (const [name, value] of new FormData(form)) {
      if (READ_FROM.test(name)) {
        wish.append(name, value);
      }
    }
    image.src = `${box.dataset.from}?${wish}`;
  };
  image.addEventListener("load", () => {
    box.removeAttribute("aria-busy");
    image.hidden = false;
    none.hidden = true;
    box.hidden = false;
  });
  image.addEventListener("error", async () => {
    box.removeAttribute("aria-busy");
    image.hidden = true;
    none.hidden = false;
    box.hidden = false;
    const asked = image.src;
    const answer = await fetch(asked).catch(() => null);
    const reason = answer?.status === 409 || answer?.status === 422 ? await answer.text() : "";
    if (image.src === asked) none.textContent = reason || none.dataset.else;
  });
  form.addEventListener("change", () => {
    clearTimeout(timer);
    box.setAttribute("aria-busy", "true"); // what is seen is the line of the choice before
    timer = setTimeout(show, 250);
  });
  show();
}

// A form that is on its way is not sent again by a quick hand, and no other after it: every button
// shows it, and what has the focus keeps it.
function sendOnce() {
  let sent = false;
  const show = (on) => {
    sent = on;
    for (const button of document.querySelectorAll("form[method=post]:not([data-drawing]) button")) {
      if (on) button.setAttribute("aria-disabled", "true");
      else button.removeAttribute("aria-disabled");
    }
  };
  document.addEventListener("submit", (event) => {
    if (event.defaultPrevented || event.target.method !== "post") return;
    if (sent) return event.preventDefault();
    show(true);
    setTimeout(() => show(false), SENT_MS); // no answer came: it may be tried again
  });
  addEventListener("pageshow", () => show(false));
}

// Ten idle minutes, counted over all tabs, lock the desk. What was typed survives the sign-in.
function relock() {
  const lock = document.getElementById("lock");
  if (!lock) return;
  let last = Date.now();
  let told = 0;
  const awake = () => {
    last = Date.now();
    if (last - told < AWAKE_MS) return;
    told = last;
    remember(last);
    fetch("/desk/awake", { method: "POST", body: new URLSearchParams() }).catch(() => {});
  };
  for (const event of ["input", "keydown", "pointerdown"]) document.addEventListener(event, awake);
  setInterval(async () => {
    if (Date.now() - Math.max(last, remembered()) < IDLE_MS) return;
    last = Infinity;
    const changed = form && [...form.elements].some(differs);
    await fetch(lock.action, { method: "POST", body: new URLSearchParams({ idle: "1" }) }).catch(() => {});
    // The form meets a locked desk, which asks for the passphrase and hands the form back.
    if (changed) form.submit();
    else location.assign("/desk");
  }, 5000);
}

function remember(moment) {
  try {
    localStorage.setItem("awake", String(moment));
  } catch {
    // Without storage each tab counts for itself.
  }
}

function remembered() {
  try {
    return Number(localStorage.getItem("awake"));
  } catch {
    return 0;
  }
}

function differs(field) {
  if (field.type === "checkbox" || field.type === "radio") {
    return field.checked !== field.defaultChecked;
  }
  if (field.options) return [...field.options].some((one) => one.selected !== one.defaultSelected);
  return field.defaultValue !== undefined && field.value !== field.defaultValue;
}
