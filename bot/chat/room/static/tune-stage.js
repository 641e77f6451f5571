// A mystery tune on the stage: key, first note, heard inwardly, named by fingers, told and played.
import { Picture } from "./stage-picture.js";
import { notice, showKeys } from "./stage-foot.js";
import { Room } from "./stage-room.js";
import { Sounds } from "./stage-sound.js";

const at = (id) => document.getElementById(id);
const score = JSON.parse(at("main").dataset.score);
const words = score.words;
const picture = new Picture(at("line"));
const sounds = new Sounds();
const room = new Room(score, notice);
const { ask, troubled } = room;
const stops = [...score.stops, "told"];

let here = 0;
let turn = 0;
let told = null; // {title, told} once it was told

const media = (kind) => `${score.media}/0/${kind}?shift=0`;

async function play(kind, begun = () => {}, ended = () => {}) {
  const mine = turn;
  try {
    const buffer = await sounds.read(await (await ask(media(kind))).arrayBuffer());
    if (mine !== turn) return;
    const over = () => {
      picture.forget();
      if (mine === turn) ended();
    };
    begun(sounds.play(buffer, over));
  } catch (error) {
    if (mine === turn) troubled(error);
  }
}

function inward() {
  const mine = turn;
  at("beats").hidden = false;
  sounds.pulse({
    bpm: score.bpm,
    beats: score.beats,
    counted: score.beats * score.countIn - score.pickup,
    pulses: score.pulses,
    aloud: false,
    onBeat: (beat, counting) => mine === turn && showBeat(beat, counting),
    onCounted: () => {},
    onEnd: () => mine === turn && (at("beats").hidden = true),
  });
}

function showBeat(beat, counting) {
  [...at("beats").children].forEach((figure, index) =>
    figure.classList.toggle("on", index === beat % score.beats),
  );
  at("beats").classList.toggle("counting", counting);
}

async function tell() {
  try {
    told ??= await (await ask(`${score.media}/tell`, "POST")).json();
  } catch (error) {
    here -= 1;
    show();
    return troubled(error);
  }
  show();
  const follow = (heard) => picture.follow(() => (heard() * score.bpm) / 60);
  if (score.hears) play("line.mp3", follow, () => notice(words.back));
}

const sounding = { key: () => play("key.mp3"), start: () => play("start.mp3"), inward, told: tell };

function go(to, begin) {
  if (to === stops.length && told) room.leave(score.choir);
  if (to < 0 || to >= stops.length) return;
  turn += 1;
  sounds.hush();
  picture.forget();
  here = to;
  show();
  if (begin) sounding[stops[here]]?.();
}

function show() {
  const stop = stops[here];
  document.body.dataset.stop = stop;
  const known = stop === "told" && told;
  at("stop").textContent = known ? told.title : (words.stops[stop] ?? "");
  at("hint").textContent = known ? told.told.join(" ") : (words.hints[stop] ?? "");
  at("told").textContent = `${at("stop").textContent}. ${at("hint").textContent}`;
  at("beats").hidden = true;
  at("names").hidden = stop !== "name";
  document.querySelector(".tune-now").classList.toggle("told", Boolean(known));
}

const keys = {
  PageDown: () => go(here + 1, true),
  ArrowRight: () => go(here + 1, true),
  Enter: () => go(here + 1, true),
  " ": () => go(here + 1, true),
  PageUp: () => go(here - 1, false),
  ArrowLeft: () => go(here - 1, false),
  Backspace: () => go(here - 1, false),
  r: () => go(here, true),
  a: () => room.goOn(`${score.choir}/tune`),
  w: () => room.leave(score.choir),
  k: () => showKeys(true),
};

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.repeat) return;
  const act = keys[event.key.length === 1 ? event.key.toLowerCase() : event.key];
  if (!act) return;
  event.preventDefault();
  sounds.wake();
  act();
});

ask(media("picture.svg"))
  .then((answer) => answer.text())
  .then((svg) => picture.show(svg, score.signs), troubled);
show();
showKeys(false);
