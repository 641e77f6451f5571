// In a reading whose parts read different lines: whose first note is given, and who is heard.
import { filled, notice } from "./stage-foot.js";

export class Voices {
  constructor(score) {
    this.labels = score.severalLines ? score.parts : [];
    this.words = score.words;
    this.alone = null; // the number of one part, null for all
  }

  // The part whose own sounds are asked for while the picture is that of `part`.
  of(part) {
    return this.alone ?? part;
  }

  get line() {
    return this.alone === null ? "line.mp3" : "part.mp3";
  }

  // On to the next part, and after the last one to all; false where all read one line.
  turn() {
    if (!this.labels.length) return false;
    const next = this.alone === null ? 0 : this.alone + 1;
    this.alone = next < this.labels.length ? next : null;
    const whose = this.alone === null ? this.words.all : this.labels[this.alone];
    notice(filled(this.words.heard, { part: whose }));
    return true;
  }
}
