// What an open stage asks of the room. The room may be begun anew in mid-lesson, and whoever stands
// before the class holds a clicker: nothing here needs another key, or leads to the browser's own pages.

const LATE_MS = 500;

export class Room {
  // The ticket that came with the page, words for a room that does not answer, what shows a sentence.
  constructor({ ticket, words }, tell) {
    this.tell = tell;
    this.ticket = ticket;
    this.words = words;
    this.going = false;
    addEventListener("pageshow", () => (this.going = false));
  }

  // The answer, whatever it says. Where the ticket is over and the desk is open, a new one is taken.
  async send(url, options = {}) {
    const answer = await this.#send(url, options);
    if (answer.status !== 403) return answer;
    const now = await this.page().catch(() => null);
    if (!now?.ticket) return answer;
    this.ticket = now.ticket;
    return this.#send(url, options);
  }

  // A good answer, or an error with the sentence to show.
  ask = async (url, method = "GET", body = undefined) => {
    const answer = await this.send(url, { method, body });
    if (answer.ok) return answer;
    throw new Error(await this.#fault(answer));
  };

  troubled = (error) => this.tell(error instanceof TypeError ? this.words.lost : error.message);

  // What the page's script would be given by now; null where there is nothing of it any more.
  async page() {
    const answer = await fetch(location.href);
    if (!answer.ok) throw new Error(this.words.ticket);
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const { score, board } = page.getElementById("main")?.dataset ?? {};
    return JSON.parse(score ?? board ?? "null");
  }

  // On to another page of the stage, once the room is there to show it.
  leave(url) {
    return this.#go(async () => url);
  }

  // Ask for something new and go where it is; pressed twice it is asked for once.
  goOn(url, { body, more = "" } = {}) {
    return this.#go(async () => (await (await this.ask(url, "POST", body)).json()).to + more);
  }

  // Whether all went well, as far as is known.
  async #go(where) {
    if (this.going) return true;
    this.going = true;
    const late = setTimeout(() => this.tell(this.words.moment), LATE_MS);
    try {
      const url = await where();
      await fetch("/healthz");
      location.assign(url);
      return true;
    } catch (error) {
      this.going = false;
      this.troubled(error);
      return false;
    } finally {
      clearTimeout(late);
    }
  }

  #send(url, options) {
    return fetch(url, { ...options, headers: { "X-Stage-Ticket": this.ticket } });
  }

  async #fault(answer) {
    if (answer.headers.get("Content-Type")?.startsWith("application/json")) return (await answer.json()).sentence;
    return answer.status === 403 ? this.words.ticket : this.words.lost;
  }
}
