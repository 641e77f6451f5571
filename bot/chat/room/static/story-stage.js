// A story on the stage: one press goes on. The journal is kept by the room; here are only views.
import { filled, notice, showKeys, turnScheme } from "./stage-foot.js";
import { Room } from "./stage-room.js";
import { tally } from "./tally.js";

const at = (id) => document.getElementById(id);
const score = JSON.parse(at("main").dataset.score);
const words = score.words;
const room = new Room(score, notice);
const strips = [...at("strips").children];
const hands = strips.map(() => 0);

let view = score.sung && !score.ending ? "vote" : "scene";
let mark = score.path ?? 0;
let unsure = false; // whether the call before was heard by the room

if (score.phase !== "telling") view = "vote";

const cast = () => hands.reduce((sum, count) => sum + count, 0);

// A call that failed may have been heard all the same: then the story is shown as it stands now.
async function call(name, fields = {}) {
  if (unsure && (await caughtUp())) return;
  unsure = !(await room.goOn(`${score.here}/${name}`, { body: new URLSearchParams(fields) }));
  if (unsure) await caughtUp();
}

async function caughtUp() {
  const now = await room.page().catch(() => score);
  const said = (page) => JSON.stringify({ ...page, ticket: "" });
  if (now === null) room.leave(score.choir);
  else if (said(now) !== said(score)) location.reload();
  else return false;
  return true;
}

const toLine = () => score.line && room.leave(score.line);

function on() {
  if (score.paused) return call("resume");
  if (score.ending) {
    if (score.line && !score.sung) return toLine();
    if (score.finale && score.sung !== "finale") return room.leave(score.finale);
    return call("end");
  }
  if (score.phase === "chosen") return call("advance");
  if (!score.inClass && score.phase !== "question") return notice(words.atHome);
  if (view === "scene") {
    if (score.line && !score.sung) return toLine();
    view = "vote";
    return show();
  }
  if (score.phase === "telling" && cast()) return call("count", { counts: hands.join(",") });
  return call("choose", { path: mark });
}

function back() {
  if (view !== "vote" || score.phase !== "telling") return;
  view = "scene";
  show();
}

const voting = () => view === "vote" && ["telling", "question"].includes(score.phase) && !score.paused;

function raise(step) {
  if (!voting() || score.phase !== "telling" || !score.inClass) return;
  hands[mark] = Math.max(0, hands[mark] + step);
  show();
}

const keys = {
  PageDown: on,
  Enter: on,
  " ": on,
  PageUp: back,
  Backspace: back,
  ArrowRight: on,
  ArrowLeft: back,
  ArrowUp: () => raise(1),
  ArrowDown: () => raise(-1),
  ".": blank,
  b: blank,
  l: toLine,
  u: () => call("undo"),
  e: () => call("pause"),
  n: turnScheme,
  k: () => showKeys(true),
  "?": () => showKeys(true),
};

// In a vote the clicker's one key besides on and back chooses, as it does at a lesson's end.
function blank() {
  if (!voting()) return dark(true);
  mark = (mark + 1) % strips.length;
  show();
}

function dark(off) {
  at("dark").hidden = !off;
  at("told").textContent = off ? words.dark : at("hint").textContent;
}

function hint() {
  if (score.paused) return words.paused;
  if (score.ending && score.line && !score.sung) return words.toLine;
  if (score.ending) return score.finale && score.sung !== "finale" ? words.finale : words.end;
  if (score.phase === "chosen") return [words.chosen, words.stop].filter(Boolean).join(" ");
  if (score.phase === "question") return words.question;
  if (!score.inClass) return words.atHome;
  if (view === "vote") return words.vote;
  return score.line && !score.sung ? words.toLine : words.toVote;
}

function show() {
  at("scene").hidden = view !== "scene";
  at("strips").hidden = view !== "vote";
  const counts = score.counts ?? hands;
  strips.forEach((strip, index) => {
    strip.classList.toggle("marked", voting() && index === mark);
    strip.classList.toggle("chosen", score.phase === "chosen" && index === score.path);
    const shown = score.counts !== null || cast() > 0;
    strip.querySelector(".tally").replaceChildren(...(shown ? tally(counts[index]) : []));
  });
  at("hint").textContent = hint();
  const label = strips[mark]?.querySelector(".label").textContent ?? "";
  at("told").textContent = voting()
    ? filled(words.marked, { path: label, hands: hands[mark] })
    : at("hint").textContent;
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  const numbered = Number(key) - 1;
  const press = strips[numbered] && voting() ? () => call("choose", { path: numbered }) : keys[key];
  if (!press) return;
  event.preventDefault();
  if (!at("dark").hidden) return dark(false);
  if (event.repeat && key !== "ArrowUp" && key !== "ArrowDown") return;
  press();
});
strips.forEach((strip, index) => {
  strip.addEventListener("click", () => {
    if (!voting()) return;
    mark = index;
    show();
  });
});

show();
showKeys(false);
