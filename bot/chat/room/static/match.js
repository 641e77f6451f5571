// The board of a match. The room decides; here a press becomes a call, and what it did is shown.
import { Live } from "./match-live.js";
import { showNumbers, showPages } from "./match-board.js";
import { notice, showKeys, turnScheme } from "./stage-foot.js";
import { Picture } from "./stage-picture.js";
import { Sounds } from "./stage-sound.js";

const PAUSE_MS = 400;
const AGAIN_MS = 2000;
// What is told in sight too; the rest stands in the heading already.
const SEEN = new Set(["points", "claim", "reminder", "last", "taken-back", "go-on"]);

const at = (id) => document.getElementById(id);
const given = JSON.parse(at("main").dataset.board);
const picture = new Picture(at("line"));
const sounds = new Sounds();
const lines = new Map(); // what is known of each line, by its reading
let marked = 0;
let part = 0;
let shown = null; // reading and part in the picture

const live = new Live(given, show, notice);

function known(reading) {
  if (!lines.has(reading)) {
    const line = live.line(reading);
    line.catch(() => lines.delete(reading));
    lines.set(reading, line);
  }
  return lines.get(reading);
}

const choicesOf = (board) => [...board.offers, ...board.asides];

function show(board) {
  document.body.dataset.stop = board.stop;
  document.body.dataset.revision = String(board.revision);
  document.body.dataset.side = board.side ?? "both";
  document.body.classList.toggle("music", board.inSight);
  document.body.classList.toggle("resting", board.resting);
  at("heading").textContent = board.heading;
  at("hint").textContent = board.hint;
  at("baton").dataset.to = board.stop === "done" ? "nobody" : (board.side ?? "both");
  showPages(board);
  marked = 0;
  showChoices(board);
  quiet(board);
  drawn(board);
  for (const told of board.told) perform(told.cue, board);
  tell(board);
}

function showChoices(board) {
  // What stands beside the course of the match is shown once it is chosen.
  const beside = marked >= board.offers.length;
  at("choices").classList.toggle("beside", beside && board.offers.length > 0);
  at("choices").replaceChildren(
    ...choicesOf(board).map((choice, index) => {
      const item = document.createElement("li");
      item.textContent = choice.label;
      item.classList.toggle("marked", index === marked);
      item.hidden = index >= board.offers.length !== beside;
      return item;
    }),
  );
}

function tell(board) {
  const words = (told) => told.map((each) => each.words).join(" ");
  const told = words(board.told);
  const heading = board.heading.replace(/[^.?!]$/, "$&.");
  const said = [told, told.includes(heading) ? "" : heading, board.hint].filter(Boolean).join(" ");
  if (at("told").textContent !== said) at("told").textContent = said;
  notice(words(board.told.filter((each) => SEEN.has(each.cue))));
}

// A room that is begun anew has the line a moment later.
function drawn(board) {
  draw(board).catch(() => {
    notice(given.words.lost);
    setTimeout(() => board === live.board && drawn(board), AGAIN_MS);
  });
}

// The line is in sight from the study on; it is fetched before, so that it comes up at once.
async function draw(board) {
  const line = await known(board.reading);
  if (board !== live.board) return;
  at("key").innerHTML = line.key;
  at("metre").textContent = line.metre;
  at("line").setAttribute("aria-label", line.words);
  const wish = `${board.reading} ${part}`;
  if (shown !== wish) {
    const drawn = await (await live.media(board.reading, part, "picture.svg")).text();
    if (board.reading !== live.board.reading) return;
    picture.show(drawn, line.pages[part] ?? line.pages[0]);
    shown = wish;
  }
  showNumbers(picture, live.board.place);
}

// What sounds: the key before the study, a count-in before the reading.
let clock = null;

function quiet(board) {
  if (board.stop !== "study" || board.resting) {
    clearInterval(clock);
    at("clock").hidden = true;
  }
  if (board.stop !== "reading" || board.resting) {
    at("beats").hidden = true;
    if (board.stop !== "study") sounds.hush();
  }
}

function perform(cue, board) {
  if (cue === "clock") study(board);
  else if (cue === "read") read(board);
}

async function study(board) {
  startClock(board.seconds);
  await key(board).catch(() => notice(given.words.lost));
}

async function key(board) {
  const line = await known(board.reading);
  await heard(await live.media(board.reading, part, "key.mp3"));
  if (line.givesPitch && board === live.board) {
    await new Promise((done) => setTimeout(done, PAUSE_MS));
    await heard(await live.media(board.reading, part, "start.mp3"));
  }
}

async function heard(answer) {
  const buffer = await sounds.read(await answer.arrayBuffer());
  await new Promise((done) => sounds.play(buffer, done));
}

function startClock(seconds) {
  clearInterval(clock);
  const ends = performance.now() + seconds * 1000;
  const tick = () => {
    const left = Math.max(0, Math.ceil((ends - performance.now()) / 1000));
    at("clock").textContent = given.words.clock.replace("{seconds}", String(left));
    if (left === 0) clearInterval(clock);
  };
  at("clock").hidden = false;
  tick();
  clock = setInterval(tick, 200);
}

async function read(board) {
  const line = await known(board.reading);
  if (board.revision !== live.board.revision) return;
  const figures = Array.from({ length: line.beats }, (_, beat) => {
    const figure = document.createElement("li");
    figure.textContent = String(beat + 1);
    return figure;
  });
  at("beats").replaceChildren(...figures);
  at("beats").hidden = false;
  sounds.pulse({
    bpm: line.bpm,
    aloud: false,
    beats: line.beats,
    counted: line.beats * line.countIn - line.pickup,
    pulses: line.pulses,
    onBeat: (beat, counting) => {
      figures.forEach((figure, index) => figure.classList.toggle("on", index === beat % line.beats));
      at("beats").classList.toggle("counting", counting);
    },
    onCounted: () => {},
    onEnd: () => (at("beats").hidden = true),
  });
}

// Presses.
const ON = new Set(["PageDown", "ArrowRight", "Enter", " "]);
const UNDO = new Set(["PageUp", "ArrowLeft", "Backspace"]);
const CHOOSE = new Set([".", "b", "ArrowDown", "F5"]);

const dials = {
  r: () => key(live.board).catch(() => notice(given.words.lost)),
  s: () => turnPart(),
  n: () => turnScheme(),
  k: () => showKeys(true),
};

function press(name) {
  const board = live.board;
  const choices = choicesOf(board);
  if (UNDO.has(name)) return board.undo && live.call("undo");
  if (CHOOSE.has(name) || name === "ArrowUp") {
    marked = (marked + (name === "ArrowUp" ? choices.length - 1 : 1)) % Math.max(choices.length, 1);
    return showChoices(board);
  }
  if (ON.has(name)) return choices[marked] && live.call(choices[marked].call);
  const chosen = choices.find((choice) => choice.key === name);
  if (chosen) return live.call(chosen.call);
}

function turnPart() {
  known(live.board.reading).then((line) => {
    part = (part + 1) % line.pages.length;
    return draw(live.board);
  });
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.repeat) return;
  const name = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  sounds.wake();
  if (dials[name]) dials[name]();
  else if (press(name) === undefined && !ON.has(name) && !UNDO.has(name) && !CHOOSE.has(name)) return;
  event.preventDefault();
});

live.start();
showKeys(false);
