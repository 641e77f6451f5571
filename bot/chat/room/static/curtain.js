// The curtain on the stage: at a drawn beat, or by hand, the page goes away while the choir sings on.
import { filled, hushNotice, notice } from "./stage-foot.js";

const TAPS_BPM = [40, 160];
const EARLY = 1.6; // beats before the last one of the count-in: from there on a press is a tap

export class Curtain {
  // `stage` gives what the stage has: score, sounds, figure, ask, state(), press(name), show().
  constructor(stage) {
    this.stage = stage;
    this.on = stage.score.way === "curtain";
    this.run = null;
    this.taps = [];
    this.away = false;
    this.fallen = null; // {number, left} once it is written down
    this.held = null; // beats, as counted or typed
    this.next = null;
    this.drawn = false;
    if (this.on) this.#draw();
  }

  // A pulse began: the count-in, then the line. `now()` tells the beats since its beginning.
  follow(run, now) {
    this.#raise();
    this.run = null;
    if (!this.on || !["first", "second"].includes(this.stage.state().stop)) return;
    this.run = { ...run, now };
    this.taps = [];
    this.fallen = this.held = null;
    this.typed = "";
    hushNotice();
    if (!this.drawn) this.#draw(); // the room did not answer when it was asked before
    this.#watch(this.run);
  }

  // Whether a key was meant for the curtain; then nothing else shall come of it.
  takes(key, name) {
    if (!this.on) return false;
    const { running } = this.stage.state();
    if (name === "on" && running === "count-in" && this.run) return this.#tap();
    if (name === "blank" && (this.away || (running === "pulse" && this.run))) return this.#turn();
    if (name === "on" && running === "pulse" && this.away && this.held === null) return this.#mark();
    if (running !== "nothing" || !this.fallen) return false;
    if (/^[0-9]$/.test(key)) return this.#type(this.typed + key);
    if (key === "Backspace" && this.typed) return this.#type(this.typed.slice(0, -1));
    if (name === "on" || name === "spot-right") this.#keep();
    return false;
  }

  // What is said at the foot just now, null where the stage says its own.
  hint({ stop, running }) {
    const words = this.stage.words;
    if (!this.on || !["first", "second"].includes(stop)) return null;
    if (running === "count-in") return words.tap;
    if (this.held !== null) return filled(running === "nothing" ? words.counted : words.lost, { count: this.held });
    if (running === "pulse") return this.away ? words.away : null;
    return this.fallen ? filled(words.count, { left: this.fallen.left }) : null;
  }

  // The stage went on to another stop: the page is there again.
  leave() {
    this.#raise();
    this.run = null;
    this.fallen = null;
  }

  #draw() {
    const { ask, score } = this.stage;
    this.drawn = true;
    this.next = ask(`${score.media}/curtain`, "POST").then(
      async (answer) => (await answer.json()).at,
      (error) => {
        notice(error.message);
        this.drawn = false;
        return null; // by hand it falls all the same
      },
    );
  }

  async #watch(mine) {
    const at = await this.next;
    const look = () => {
      if (this.run !== mine) return;
      const { running } = this.stage.state();
      if (running === "nothing" || this.fallen || this.away) return;
      if (at !== null && mine.now() - mine.counted >= at) this.#drop(at, false);
      else requestAnimationFrame(look);
    };
    look();
  }

  #drop(at, byHand) {
    this.away = true;
    this.fellAt = at;
    this.stage.figure.classList.add("away");
    const { ask, score } = this.stage;
    ask(`${score.media}/curtain/fell?at=${at}&hand=${byHand ? 1 : 0}`, "POST")
      .then((answer) => answer.json())
      .then(
        (fallen) => {
          this.fallen = fallen;
          this.stage.show();
        },
        (error) => notice(error.message),
      )
      .finally(() => this.#draw()); // only now: the next place is never this one
    this.stage.show();
    this.stage.tell(this.stage.words.away);
  }

  #raise() {
    if (!this.away) return;
    this.away = false;
    this.stage.figure.classList.remove("away");
    this.stage.tell(this.stage.words.back);
  }

  // The one key: away by hand, and back.
  #turn() {
    if (this.away) {
      this.#raise();
      this.stage.show();
    } else if (!this.fallen) {
      this.#drop(Math.max(this.run.now() - this.run.counted, 0), true);
    }
    return true;
  }

  // Hands are down: as many whole beats were held since the page went.
  #mark() {
    this.held = Math.max(0, Math.floor(this.run.now() - this.run.counted - this.fellAt + 0.25));
    this.stage.show();
    return true;
  }

  // The last two beats of the count-in, tapped: from there on the pulse is the choir's.
  #tap() {
    const { sounds } = this.stage;
    const last = Math.ceil(this.run.counted) - 1;
    const now = sounds.heard();
    if (!this.taps.length) {
      if (this.run.now() >= last - EARLY) this.taps.push(now);
      return true;
    }
    const bpm = 60 / (now - this.taps[0]);
    this.taps = [];
    if (bpm < TAPS_BPM[0] || bpm > TAPS_BPM[1]) {
      notice(this.stage.words.strange);
      return true;
    }
    const run = { ...this.run, bpm, resumed: { beat: last, at: now } };
    this.run = { ...run, now: sounds.pulse(run) };
    this.stage.tapped(bpm);
    this.#watch(this.run);
    return true;
  }

  #type(digits) {
    if (digits !== "" && Number(digits) > this.fallen.left) return true;
    this.typed = digits;
    this.held = digits === "" ? null : Number(digits);
    this.stage.show();
    return true;
  }

  #keep() {
    if (this.held === null) return;
    const { ask, score } = this.stage;
    const held = Math.min(this.held, this.fallen.left);
    ask(`${score.choir}/fall/${this.fallen.number}?beats=${held}`, "POST").catch((error) =>
      notice(error.message),
    );
    this.fallen = null;
  }
}
