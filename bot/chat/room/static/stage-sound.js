// Sounds of the stage by Web Audio, all on its own clock: what is begun is timed to the sample.

const SOON_S = 0.05;
const FADE_S = 0.06;
const DRONE_EDGE_S = 0.5; // as bot/media/tone.py makes it: between the edges it goes round
const DRONE_GAIN = 0.35;

export class Sounds {
  constructor() {
    this.context = new AudioContext();
    this.now = null; // what plays or counts
    this.held = null; // the drone
  }

  // Called at every press: a browser lets nothing sound before one.
  wake() {
    if (this.context.state !== "running") this.context.resume();
  }

  read(bytes) {
    return this.context.decodeAudioData(bytes);
  }

  hush() {
    this.now?.end();
    this.now = null;
  }

  // Play a sound once; gives a function that tells how many seconds of it were heard.
  play(buffer, onEnd) {
    this.hush();
    const source = this.context.createBufferSource();
    const out = this.#out(1);
    source.buffer = buffer;
    source.connect(out);
    const start = this.context.currentTime + SOON_S;
    source.start(start);
    source.onended = onEnd;
    this.now = {
      end: () => {
        source.onended = null;
        this.#fade(out);
        source.stop(this.context.currentTime + FADE_S);
      },
    };
    return () => this.heard() - start;
  }

  // Count in, then go on through the line; `aloud` clicks there too, `quiet` nowhere. All clicks are
  // set at once. `resumed` {beat, at}: that beat came at that moment, as `heard()` tells it, and what
  // follows it is still to come. Gives a function that tells the beats since the beginning.
  pulse({ bpm, beats, counted, pulses, aloud, quiet, resumed, onBeat, onCounted, onEnd }) {
    this.hush();
    const each = 60 / bpm;
    const start = resumed ? resumed.at - resumed.beat * each : this.context.currentTime + SOON_S;
    const out = this.#out(1);
    const whole = counted + pulses;
    for (let beat = resumed ? resumed.beat + 1 : 0; beat < whole; beat += 1) {
      const clicks = !quiet && (aloud || beat < counted);
      if (clicks) tick(this.context, out, start + beat * each, beat % beats === 0);
    }
    let shown = -1;
    let frame = 0;
    const look = () => {
      const beat = Math.floor((this.heard() - start) / each);
      if (beat !== shown && beat >= 0 && beat < whole) {
        shown = beat;
        onBeat(beat, beat < counted);
      }
      frame = requestAnimationFrame(look);
    };
    look();
    // Timers, not frames: they go on while the window is behind another.
    const marks = [this.#when(start + counted * each, onCounted), this.#when(start + whole * each, onEnd)];
    this.now = {
      end: () => {
        cancelAnimationFrame(frame);
        marks.forEach((mark) => mark());
        this.#fade(out);
      },
    };
    return () => (this.heard() - start) / each;
  }

  get droning() {
    return this.held !== null;
  }

  drone(buffer) {
    this.endDrone();
    const source = this.context.createBufferSource();
    const out = this.context.createGain();
    out.connect(this.context.destination);
    source.buffer = buffer;
    source.loop = true;
    source.loopStart = DRONE_EDGE_S;
    source.loopEnd = buffer.duration - DRONE_EDGE_S;
    source.connect(out);
    const start = this.context.currentTime;
    out.gain.setValueAtTime(0, start);
    out.gain.linearRampToValueAtTime(DRONE_GAIN, start + 0.8);
    source.start(start, DRONE_EDGE_S);
    this.held = { source, out };
  }

  endDrone() {
    if (!this.held) return;
    const { source, out } = this.held;
    this.held = null;
    this.#fade(out, 0.4);
    source.stop(this.context.currentTime + 0.5);
  }

  #out(gain) {
    const out = this.context.createGain();
    out.gain.value = gain;
    out.connect(this.context.destination);
    return out;
  }

  #fade(out, seconds = FADE_S) {
    const now = this.context.currentTime;
    out.gain.cancelScheduledValues(now);
    out.gain.setValueAtTime(out.gain.value, now);
    out.gain.linearRampToValueAtTime(0, now + seconds);
    setTimeout(() => out.disconnect(), seconds * 1000 + 50);
  }

  // The moment that is heard just now: what is set now comes out a little later.
  heard() {
    return this.context.currentTime - (this.context.outputLatency || 0);
  }

  #when(moment, act) {
    let timer = null;
    const wait = () => {
      const left = moment - this.context.currentTime;
      if (left <= 0) act();
      else timer = setTimeout(wait, Math.min(left * 1000 + 2, 500));
    };
    wait();
    return () => clearTimeout(timer);
  }
}

// A dry wooden tick: a short sine that falls fast; the first beat a fourth higher.
function tick(context, out, at, first) {
  const tone = context.createOscillator();
  const gain = context.createGain();
  tone.frequency.setValueAtTime(first ? 1480 : 1109, at);
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(0.5, at + 0.002);
  gain.gain.exponentialRampToValueAtTime(0.0005, at + 0.06);
  tone.connect(gain).connect(out);
  tone.start(at);
  tone.stop(at + 0.07);
}
