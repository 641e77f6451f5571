// The list of ways to read the line: dark moves the mark, on takes, back closes. Any clicker can,
// also one that presses the arrows.
// And what is said while the line is read in one of them.

const SUNG = ["first", "second"];

export class Ways {
  // `take` goes to another way; `read` tells the room that the line was read in this one.
  constructor(box, score, take, read) {
    this.box = box;
    this.score = score;
    this.ways = [...box.querySelectorAll("li")];
    this.take = take;
    this.read = read;
    this.now = this.ways.findIndex((way) => way.dataset.way === score.way);
    this.at = this.now;
    this.turn = 0; // which share of what is sung it is, where shares are sung in turn
  }

  // The count-in is over. The first reading of a line is told, and only once.
  sung({ stop }) {
    if (!SUNG.includes(stop)) return;
    this.read?.();
    this.read = null;
  }

  // A beat of what is sung began, counted from 0; a turn is told one beat before it comes.
  follow(beat) {
    const turns = this.score.words.way.turns.length || 1;
    const turn = Math.floor((beat + 1) / (this.score.pulses / turns));
    this.turn = Math.min(Math.max(turn, 0), turns - 1);
  }

  // What is said at the foot at this stop, null where the stage says its own.
  hint({ stop, running }) {
    const { way, answer } = this.score;
    const words = this.score.words.way;
    if (stop === "look") return words.new || null;
    if (stop === "hear") return answer.length ? words.answer : null;
    if (way === "plain" || !["ready", ...SUNG].includes(stop)) return null;
    if (words.turns.length && running === "pulse") return words.turns[this.turn];
    return words.hint;
  }

  open() {
    this.box.hidden = false;
    this.#mark((this.now + 1) % this.ways.length);
  }

  // Whether a key was meant for the list; then nothing else shall come of it.
  takes(key, name) {
    if (this.box.hidden) return false;
    if (name === "on" || name === "spot-right") this.#take();
    else if (name === "blank" || name === "other-way" || key === "ArrowDown") {
      this.#mark((this.at + 1) % this.ways.length);
    } else if (key === "ArrowUp") this.#mark((this.at + this.ways.length - 1) % this.ways.length);
    else if (name === "back" || name === "spot-left" || key === "Escape") this.box.hidden = true;
    return true;
  }

  #mark(index) {
    this.at = index;
    this.ways.forEach((way, each) => {
      way.classList.toggle("marked", each === index);
      if (each === index) way.setAttribute("aria-current", "true");
      else way.removeAttribute("aria-current");
    });
    this.ways[index].scrollIntoView({ block: "nearest" });
  }

  #take() {
    this.box.hidden = true;
    if (this.at !== this.now) this.take(this.ways[this.at].dataset.way);
  }
}
