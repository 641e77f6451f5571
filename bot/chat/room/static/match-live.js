// What board and referee share: the state of a match, calls, and the news that something was called.
import { Room } from "./stage-room.js";

export class Live {
  // `show(board)` is told every state once, the first one with nothing to tell.
  constructor(given, show, troubled) {
    this.given = given;
    this.show = show;
    this.troubled = troubled;
    this.board = given.now;
    this.room = new Room(given, troubled);
    this.busy = false;
  }

  start() {
    this.show(this.board);
    this.#listen();
  }

  async call(call) {
    if (this.busy) return; // a press made twice is one call
    this.#wait(true);
    try {
      const body = new URLSearchParams({ call, seen: String(this.board.revision) });
      const answer = await this.room.send(`${this.given.match}/call`, { method: "POST", body });
      if (answer.status === 409) {
        this.troubled((await answer.json()).sentence);
        await this.#catchUp();
      } else this.#take(await this.#told(answer));
    } catch (error) {
      this.troubled(error instanceof TypeError ? this.given.words.lost : error.message);
    } finally {
      this.#wait(false);
    }
  }

  // While a call is on its way no other is taken, and everything that makes one shows it. What has
  // the focus keeps it.
  #wait(on) {
    this.busy = on;
    document.body.classList.toggle("waiting", on);
    for (const button of document.querySelectorAll("#main button")) {
      if (on) button.setAttribute("aria-disabled", "true");
      else button.removeAttribute("aria-disabled");
    }
  }

  async line(reading) {
    const answer = await this.room.send(`${this.given.match}/line/${reading}`);
    return this.#told(answer);
  }

  async media(reading, part, kind) {
    return this.#fine(await this.room.send(`${this.given.media}/${reading}/${part}/${kind}?shift=0`));
  }

  #take(board) {
    if (board.revision <= this.board.revision) return;
    this.board = board;
    this.show(board);
  }

  async #catchUp() {
    this.#take(await this.#told(await this.room.send(`${this.given.match}/state?seen=${this.board.revision}`)));
  }

  #fine(answer) {
    if (answer.ok) return answer;
    throw new Error(answer.status === 403 ? this.given.words.ticket : this.given.words.lost);
  }

  async #told(answer) {
    return this.#fine(answer).json();
  }

  #listen() {
    let stream = null;
    const open = () => {
      if (stream || document.hidden) return;
      stream = new EventSource(`${this.given.match}/live`);
      stream.addEventListener("newest", (event) => {
        if (Number(event.data) > this.board.revision && !this.busy) this.#catchUp().catch(() => {});
      });
      stream.addEventListener("error", () => {
        if (stream.readyState !== EventSource.CLOSED) return;
        stream = null;
        setTimeout(open, 3000);
      });
    };
    const close = () => {
      stream?.close();
      stream = null;
    };
    document.addEventListener("visibilitychange", () => (document.hidden ? close() : open()));
    addEventListener("pagehide", close);
    addEventListener("pageshow", open);
    open();
  }
}
