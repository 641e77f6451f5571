// The stage. What a press does stands in the table that came with the page; here it is only done.
import { Picture } from "./stage-picture.js";
import { Sounds } from "./stage-sound.js";

const NOTICE_MS = 6000;
const KEYS_MS = 9000;
const ASK_EVERY_MS = 500;

const at = (id) => document.getElementById(id);
const score = JSON.parse(at("main").dataset.score);
const words = score.words;
const picture = new Picture(at("line"), score.beats);
const sounds = new Sounds();

let here = 0;
let bpm = score.bpm;
let shift = score.keyChoices.findIndex((choice) => choice.halfSteps === 0);
let part = 0;
let opened = false;
let turn = 0; // counts what was begun, so that a sound that comes too late is not played

const filled = (sentence, gaps) =>
  sentence.replace(/\{(\w+)\}/g, (whole, gap) => gaps[gap] ?? whole);

// Pictures and sounds, each asked for once, with the ticket that came with the page.
const asked = new Map();

function media(kind, extra = "") {
  const url = `${score.media}/${part}/${kind}?shift=${score.keyChoices[shift].halfSteps}${extra}`;
  if (!asked.has(url)) {
    const answer = ask(url).then((response) =>
      kind.endsWith(".svg") ? response.text() : response.arrayBuffer().then((bytes) => sounds.read(bytes)),
    );
    answer.catch(() => asked.delete(url));
    asked.set(url, answer);
  }
  return asked.get(url);
}

async function ask(url, method = "GET") {
  const response = await fetch(url, { method, headers: { "X-Stage-Ticket": score.ticket } });
  if (response.ok) return response;
  const told = response.headers.get("Content-Type")?.startsWith("application/json")
    ? (await response.json()).sentence
    : null;
  throw new Error(told ?? (response.status === 403 ? words.ticket : words.lost));
}

function troubled(error) {
  notice(error instanceof TypeError ? words.lost : error.message);
}

const line = () => media("line.mp3", `&bpm=${bpm}`);

function fetchAhead() {
  for (const kind of ["key.mp3", "do.mp3", "drone.mp3"]) media(kind).catch(() => {});
  if (score.givesPitch) media("start.mp3").catch(() => {});
  if (opened) line().catch(() => {});
}

// Sounds and pulses.
async function play(buffer, begun = () => {}) {
  const mine = turn;
  const late = setTimeout(() => notice(words.wait), ASK_EVERY_MS);
  try {
    const ready = await buffer;
    if (mine !== turn) return;
    const heard = sounds.play(ready, () => mine === turn && press("ended"));
    begun(heard);
  } catch (error) {
    troubled(error);
    if (mine === turn) press("ended");
  } finally {
    clearTimeout(late);
  }
}

function pulse(aloud) {
  const mine = turn;
  sounds.pulse({
    bpm,
    aloud,
    beats: score.beats,
    counted: score.beats * score.countIn - score.pickup,
    pulses: score.pulses,
    onBeat: (beat, counting) => mine === turn && showBeat(beat, counting),
    onCounted: () => mine === turn && press("counted"),
    onEnd: () => mine === turn && press("ended"),
  });
}

let clockTimer = null;

function startClock() {
  const began = performance.now();
  const show = () => {
    const seconds = Math.floor((performance.now() - began) / 1000);
    at("clock").textContent = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
  };
  show();
  clockTimer = setInterval(show, 250);
}

const perform = {
  hush() {
    sounds.hush();
    clearInterval(clockTimer);
    picture.forget();
  },
  "key-sound": () => play(media("key.mp3")),
  "start-sound": () => (score.givesPitch ? play(media("start.mp3")) : queueMicrotask(() => press("ended"))),
  "do-sound": () => play(media("do.mp3")),
  "line-sound": () => {
    const perPulse = 60 / bpm;
    return play(line(), (heard) => picture.follow(() => heard() / perPulse));
  },
  "pulse-aloud": () => pulse(true),
  "pulse-inward": () => pulse(false),
  clock: startClock,
  "open-line": () => {
    ask(`${score.media}/open`, "POST").then(() => {
      opened = true;
      fetchAhead();
    }, troubled);
  },
  another: () => {
    ask(`${score.media}/another`, "POST")
      .then((answer) => answer.json())
      .then((answer) => location.assign(answer.to), troubled);
  },
  "next-choir": () => location.assign(score.nextChoir),
};

function press(name) {
  const move = score.moves[here][name];
  if (!move) return;
  const [to, effects] = move;
  here = to;
  if (effects.length) turn += 1;
  show();
  for (const effect of effects) perform[effect]();
  tell();
}

// What can be turned at any moment.
const dials = {
  slower: () => setTempo(score.tempi.findLast((tempo) => tempo < bpm)),
  faster: () => setTempo(score.tempi.find((tempo) => tempo > bpm)),
  "key-up": () => setKey(shift + 1),
  "key-down": () => setKey(shift - 1),
  drone() {
    if (sounds.droning) {
      sounds.endDrone();
      notice(words.droneOff);
      return;
    }
    media("drone.mp3").then((buffer) => {
      sounds.drone(buffer);
      notice(words.droneOn);
    }, troubled);
  },
  part() {
    part = (part + 1) % score.signs.length;
    draw();
    if (score.parts.length > 1) notice(filled(words.part, { part: score.parts[part] }));
  },
  scheme: () => turnScheme(),
  keys: () => showKeys(true),
};

function setTempo(to) {
  if (to === undefined) return notice(words.edge);
  bpm = to;
  at("bpm").textContent = String(bpm);
  notice(filled(words.tempo, { bpm }));
  if (opened) line().catch(() => {});
}

function setKey(to) {
  const choice = score.keyChoices[to];
  if (!choice) return notice(words.edge);
  if (choice.beyond) return notice(filled(words.beyond, { key: choice.spoken, part: choice.beyond }));
  shift = to;
  at("key").innerHTML = choice.name;
  notice(choice.spoken);
  draw();
  if (sounds.droning) media("drone.mp3").then((buffer) => sounds.drone(buffer), troubled);
}

function draw(tries = 0) {
  const mine = score.keyChoices[shift];
  const whose = part;
  const stale = () => mine !== score.keyChoices[shift] || whose !== part;
  media("picture.svg").then(
    (svg) => {
      if (stale()) return;
      picture.show(svg, score.signs[part] ?? score.signs[0]);
      picture.bracket(score.states[here].spot);
    },
    (error) => {
      // A picture may fail while the engraver begins anew: it is asked for again by itself.
      if (!stale() && tries < 4) setTimeout(() => !stale() && draw(tries + 1), ASK_EVERY_MS * (tries + 1));
      else troubled(error);
    },
  );
  fetchAhead();
}

function turnScheme() {
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

// What is seen and told.
function show() {
  const state = score.states[here];
  at("stop").textContent = words.stops[state.stop];
  at("hint").textContent = words.hints[state.stop];
  at("dark").hidden = !state.blank;
  document.body.dataset.stop = state.stop;
  document.body.dataset.running = state.running;
  at("clock").hidden = state.running !== "clock";
  at("beats").hidden = !["count-in", "pulse"].includes(state.running);
  if (at("beats").hidden) showBeat(-1, false);
  at("choices").hidden = state.stop !== "done";
  for (const choice of at("choices").children) {
    choice.classList.toggle("marked", choice.dataset.choice === state.choice);
  }
  if (state.running === "nothing") picture.forget();
  picture.bracket(state.spot);
}

function tell() {
  const state = score.states[here];
  let said = `${words.stops[state.stop]}. ${words.hints[state.stop]}`;
  if (state.blank) said = words.dark;
  else if (state.stop === "mend") said = `${words.stops.mend}. ${filled(words.spot, { measure: state.spot })}`;
  else if (state.stop === "done") said = words.choices[state.choice];
  if (at("told").textContent !== said) at("told").textContent = said;
}

function showBeat(beat, counting) {
  [...at("beats").children].forEach((figure, index) =>
    figure.classList.toggle("on", beat >= 0 && index === beat % score.beats),
  );
  at("beats").classList.toggle("counting", counting);
}

const signs = Object.fromEntries(
  [...document.querySelectorAll("#signs > span")].map((sign) => [sign.dataset.sign, sign]),
);
let noticeTimer = null;

function notice(sentence) {
  // The serif has no flat and no sharp: they are drawn by the room, as in the name of the key.
  const parts = sentence.split(/([♭♯])/).map((piece) => (signs[piece] ? signs[piece].cloneNode(true) : piece));
  at("notice").replaceChildren(...parts);
  clearTimeout(noticeTimer);
  noticeTimer = setTimeout(() => at("notice").replaceChildren(), NOTICE_MS);
}

let keysTimer = null;

function showKeys(all) {
  at("keys").classList.remove("faded");
  at("keys").classList.toggle("all", all);
  clearTimeout(keysTimer);
  keysTimer = setTimeout(() => at("keys").classList.add("faded"), KEYS_MS);
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  const dial = score.dials[key];
  const name = score.keys[key];
  if (!dial && !name) return;
  event.preventDefault();
  sounds.wake();
  if (dial) dials[dial]();
  else if (!event.repeat) press(name);
});
document.addEventListener("pointermove", () => {
  if (!at("keys").classList.contains("all")) showKeys(false);
});

show();
draw();
showKeys(false);
