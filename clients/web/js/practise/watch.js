/** The clock of a lap: it can be held, and it is read pass by pass. */

export class Watch {
  /** @param {number} before Seconds of this pass already counted. */
  constructor(before = 0, clock = () => performance.now() / 1000) {
    this.before = before;
    this.since = null;
    this.clock = clock;
  }

  get running() {
    return this.since !== null;
  }

  run() {
    this.since ??= this.clock();
  }

  hold() {
    if (this.since !== null) this.before += this.clock() - this.since;
    this.since = null;
  }

  /** Seconds of this pass so far, to a thousandth. */
  read() {
    const seconds = this.before + (this.since === null ? 0 : this.clock() - this.since);
    return Math.round(seconds * 1000) / 1000;
  }

  /** Return the seconds of this pass and begin the next at zero; a watch that runs goes on running. */
  take() {
    const seconds = this.read();
    this.before = 0;
    if (this.since !== null) this.since = this.clock();
    return seconds;
  }
}
