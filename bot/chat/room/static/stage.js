// The stage. What a press does stands in the table that came with the page; here it is only done.
import { Picture } from "./stage-picture.js";
import { Curtain } from "./curtain.js";
import { filled, hushNotice, notice, showKeys, startClock, stopClock, turnScheme } from "./stage-foot.js";
import { Place } from "./stage-place.js";
import { Room } from "./stage-room.js";
import { Sounds } from "./stage-sound.js";
import { Voices } from "./voices.js";
import { Ways } from "./ways.js";

const ASK_EVERY_MS = 500;
const WRITTEN_OUT = ["hear", "held", "done"]; // where a line that was read another way is shown as such

const at = (id) => document.getElementById(id);
const score = JSON.parse(at("main").dataset.score);
const words = score.words;
const picture = new Picture(at("line"), score.beats);
const sounds = new Sounds();
const voices = new Voices(score);
const room = new Room(score, notice);
const { ask, troubled } = room;
const place = new Place(score);
const kept = place.kept();

let here = kept.here ?? 0;
let bpm = kept.bpm ?? score.bpm;
let shift = kept.shift ?? score.keyChoices.findIndex((choice) => choice.halfSteps === 0);
let part = kept.part ?? 0;
let opened = null; // on its way, and then open: the line may be heard
let quiet = false;
let turn = 0; // counts what was begun, so that a sound that comes too late is not played

// Pictures and sounds, each asked for once, with the ticket that came with the page.
const asked = new Map();
function media(kind, extra = "") {
  const whose = kind.endsWith(".svg") ? part : voices.of(part);
  const url = `${score.media}/${whose}/${kind}?shift=${score.keyChoices[shift].halfSteps}&way=${score.way}${extra}`;
  if (!asked.has(url)) {
    const answer = ask(url).then((response) =>
      kind.endsWith(".svg") ? response.text() : response.arrayBuffer().then((bytes) => sounds.read(bytes)),
    );
    answer.catch(() => asked.delete(url));
    asked.set(url, answer);
  }
  return asked.get(url);
}

const inItsWay = (mark) => (score.way === "plain" ? "" : `${mark}way=${score.way}`);

function openLine() {
  opened ??= ask(`${score.media}/open`, "POST").then(fetchAhead);
  opened.catch(() => (opened = null)); // asked for again when it is to be heard
  return opened;
}

const line = () => media(voices.line, `&bpm=${bpm}`);

function fetchAhead() {
  for (const kind of ["key.mp3", "do.mp3", "drone.mp3"]) media(kind).catch(() => {});
  if (score.givesPitch) media("start.mp3").catch(() => {});
  opened?.then(line).catch(() => {});
}

// Sounds and pulses.
async function play(buffer, begun = () => {}) {
  const mine = turn;
  const late = setTimeout(() => notice(words.wait), ASK_EVERY_MS);
  try {
    const ready = await buffer;
    if (mine !== turn) return;
    begun(sounds.play(ready, () => mine === turn && press("ended")));
  } catch (error) {
    troubled(error);
    if (mine === turn) press("ended");
  } finally {
    clearTimeout(late);
    if (at("notice").textContent === words.wait) hushNotice();
  }
}

function pulse(aloud) {
  const mine = turn;
  at("bpm").textContent = String(bpm);
  const run = {
    bpm,
    aloud,
    quiet,
    beats: score.beats,
    counted: score.beats * score.countIn - score.pickup,
    pulses: score.pulses,
    onBeat: (beat, counting) => mine === turn && showBeat(beat, counting, run.counted),
    onCounted: () => mine === turn && (ways.sung(score.states[here]), press("counted")),
    onEnd: () => mine === turn && press("ended"),
  };
  curtain.follow(run, sounds.pulse(run));
}

const curtain = new Curtain({
  score,
  sounds,
  ask,
  words: words.way,
  figure: at("line"),
  state: () => score.states[here],
  show: () => show(),
  tell: (said) => (at("told").textContent = said),
  tapped(tapped) {
    at("bpm").textContent = String(Math.round(tapped));
    notice(filled(words.way.tapped, { bpm: Math.round(tapped) }));
  },
});
const ways = new Ways(at("ways"), score, (way) => {
  if (way === "tune") room.goOn(`${score.choir}/tune`);
  else room.leave(`${score.choir}?reading=${score.reading}&way=${way}`);
}, () => ask(`${score.media}/read?way=${score.way}`, "POST").catch(troubled));

const perform = {
  hush() {
    sounds.hush();
    stopClock();
    picture.forget();
  },
  "key-sound": () => play(media("key.mp3")),
  "start-sound": () => (score.givesPitch ? play(media("start.mp3")) : queueMicrotask(() => press("ended"))),
  "do-sound": () => play(media("do.mp3")),
  "line-sound": () => {
    const perPulse = 60 / bpm;
    return play(openLine().then(line), (heard) => picture.follow(() => heard() / perPulse, voices.of(0)));
  },
  "pulse-aloud": () => pulse(true),
  "pulse-inward": () => pulse(false),
  clock: startClock,
  "open-line": () => openLine().catch(troubled),
  another: () => room.goOn(`${score.media}/another${inItsWay("?")}`, { more: inItsWay("&") }),
  "other-way": () => ways.open(),
  "next-choir": () => room.leave(score.nextChoir),
};

function press(name) {
  const move = score.moves[here][name];
  if (!move) return name === "hear" ? notice(words.unheard) : undefined;
  const [to, effects] = move;
  here = to;
  if (effects.length) turn += 1;
  show();
  for (const effect of effects) perform[effect]();
  tell();
  keep();
}

const keep = () => place.keep(here, { bpm, shift, part });

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
    if (voices.turn()) return fetchAhead();
    part = (part + 1) % score.signs.length;
    draw();
    if (score.parts.length > 1) notice(filled(words.part, { part: score.parts[part] }));
  },
  quiet() {
    quiet = !quiet;
    notice(quiet ? words.way.quiet : words.way.aloud);
  },
  scheme: () => turnScheme(),
  keys: () => showKeys(true),
};

function setTempo(to) {
  if (to === undefined) return notice(words.edge);
  bpm = to;
  at("bpm").textContent = String(bpm);
  notice(filled(words.tempo, { bpm }));
  opened?.then(line).catch(() => {});
}

function setKey(to) {
  if (score.keyChoices.length === 1) return; // the rhythm alone has no key
  const choice = score.keyChoices[to];
  if (!choice) return notice(words.edge);
  if (choice.beyond) return notice(filled(words.beyond, { key: choice.spoken, part: choice.beyond }));
  shift = to;
  at("key").innerHTML = choice.name;
  notice(choice.spoken);
  draw();
  if (sounds.droning) media("drone.mp3").then((buffer) => sounds.drone(buffer), troubled);
}

const page = () =>
  score.answer.length && WRITTEN_OUT.includes(score.states[here].stop) ? "answer.svg" : "picture.svg";
let drawn = "";

function draw(tries = 0) {
  const mine = score.keyChoices[shift];
  const whose = part;
  const kind = page();
  const stale = () => mine !== score.keyChoices[shift] || whose !== part || kind !== page();
  drawn = kind;
  media(kind).then(
    (svg) => {
      if (stale()) return;
      const signs = kind === "answer.svg" ? score.answer : score.signs;
      picture.show(svg, signs[part] ?? signs[0]);
      mark();
    },
    (error) => {
      // A picture may fail while the engraver begins anew: it is asked for again by itself.
      if (!stale() && tries < 4) setTimeout(() => !stale() && draw(tries + 1), ASK_EVERY_MS * (tries + 1));
      else {
        drawn = ""; // so that the next press draws it
        troubled(error);
      }
    },
  );
  fetchAhead();
}

// What is drawn into the picture at this stop.
function mark() {
  const state = score.states[here];
  picture.bracket(state.spot);
  picture.cover(["first", "second"].includes(state.stop) ? score.hidden : []);
  if (score.way === "retrograde" && drawn === "picture.svg") picture.fromRight();
}

const hint = (state) => curtain.hint(state) ?? ways.hint(state) ?? words.hints[state.stop];

function show() {
  const state = score.states[here];
  if (document.body.dataset.stop !== state.stop) curtain.leave();
  at("stop").textContent = words.stops[state.stop];
  at("hint").textContent = hint(state);
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
  if (drawn !== page()) draw();
  else mark();
}

function tell() {
  const state = score.states[here];
  const stop = words.stops[state.stop];
  let said = `${stop}${stop.endsWith("?") ? "" : "."} ${words.hints[state.stop]}`;
  if (state.blank) said = words.dark;
  else if (state.stop === "mend") said = `${words.stops.mend}. ${filled(words.spot, { measure: state.spot })}`;
  else if (state.stop === "done") said = words.choices[state.choice];
  if (at("told").textContent !== said) at("told").textContent = said;
}

function showBeat(beat, counting, counted = 0) {
  if (beat >= counted - 1) ways.follow(beat - counted);
  if (beat >= counted) at("hint").textContent = hint(score.states[here]);
  [...at("beats").children].forEach((figure, index) =>
    figure.classList.toggle("on", beat >= 0 && index === beat % score.beats),
  );
  at("beats").classList.toggle("counting", counting);
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  const dial = score.dials[key];
  const name = score.keys[key];
  if (!dial && !name && !/^[0-9]$/.test(key) && key !== "Escape") return;
  event.preventDefault();
  sounds.wake();
  if (event.repeat && !dial) return;
  if (ways.takes(key, name) || curtain.takes(key, name)) return;
  if (dial) dials[dial]();
  else if (name) press(name);
  keep();
});
at("bpm").textContent = String(bpm);
at("key").innerHTML = score.keyChoices[shift].name;
draw();
show();
showKeys(false);
