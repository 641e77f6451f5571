// The count-in: clicks by Web Audio, timed by its own clock, and figures that show the beat.
import { loudness } from "./players.js";

// The tempi that metronomes have always carried.
const TEMPI = [
  40, 42, 44, 46, 48, 50, 52, 54, 56, 58, 60, 63, 66, 69, 72, 76, 80, 84, 88, 92, 96, 100, 104, 108,
  112, 116, 120, 126, 132,
];
const AHEAD_S = 0.12;
const LOOK_MS = 25;

let context = null;
let stopLast = () => {};

export function followPulse(sheet) {
  const box = sheet.querySelector(".pulse");
  if (!box) return;
  const start = box.querySelector(".count");
  const shown = box.querySelector(".bpm-now");
  const beats = [...box.querySelectorAll(".beats li")];
  const keep = box.querySelector(".keep");
  const pulses = Number(box.dataset.pulses);
  const counted = pulses * Number(box.dataset.countIn);
  const all = counted + pulses * Number(box.dataset.measures);
  let bpm = Number(sheet.querySelector(".tempo").dataset.tempo);
  let timer = null;

  const setTempo = (to) => {
    bpm = to;
    shown.textContent = String(bpm);
    sheet.querySelector(".tempo .bpm").textContent = String(bpm);
  };
  box.querySelector(".slower").addEventListener("click", () => {
    setTempo(TEMPI.findLast((tempo) => tempo < bpm) ?? bpm);
  });
  box.querySelector(".faster").addEventListener("click", () => {
    setTempo(TEMPI.find((tempo) => tempo > bpm) ?? bpm);
  });

  const show = (beat) => {
    beats.forEach((figure, index) => figure.classList.toggle("on", index === beat % pulses));
    box.classList.toggle("counting", beat < counted);
  };
  const stop = () => {
    clearInterval(timer);
    timer = null;
    start.setAttribute("aria-pressed", "false");
    start.textContent = box.dataset.count;
    beats.forEach((figure) => figure.classList.remove("on"));
  };
  const run = async () => {
    stopLast();
    stopLast = stop;
    context ??= new AudioContext();
    await context.resume();
    start.setAttribute("aria-pressed", "true");
    start.textContent = box.dataset.stop;
    let beat = 0;
    let at = context.currentTime + 0.15;
    timer = setInterval(() => {
      while (at < context.currentTime + AHEAD_S) {
        if (beat >= all) return void setTimeout(stop, 60000 / bpm);
        const now = beat;
        if (now < counted || keep.checked) click(at, now % pulses === 0);
        setTimeout(() => timer && show(now), Math.max(0, (at - context.currentTime) * 1000));
        at += 60 / bpm;
        beat += 1;
      }
    }, LOOK_MS);
  };
  start.addEventListener("click", () => (timer ? stop() : run()));
  box.hidden = false;
}

// A dry wooden tick: a short sine that falls fast; the first beat a fourth higher.
function click(at, first) {
  const tone = context.createOscillator();
  const gain = context.createGain();
  tone.frequency.setValueAtTime(first ? 1480 : 1109, at);
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(0.5 * loudness(), at + 0.002);
  gain.gain.exponentialRampToValueAtTime(0.0005, at + 0.06);
  tone.connect(gain).connect(context.destination);
  tone.start(at);
  tone.stop(at + 0.07);
}
