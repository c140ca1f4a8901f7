/* Entries on their way: kept first, then sent one by one, in order for each loaf, until the workshop has them all.
 *
 *   new Outbox({ store, sender, person, lock?, memory?, timer?, now? })
 *   outbox.keep(entry, files) -> entry     resolves when it is on the disk; see makeEntry in entry.js
 *   outbox.sendNow(order, ms) -> verdict   of this entry (see sending.js), {kind: "later"} when it takes too long
 *   outbox.flush()                         tries all that wait; also called by itself with back-off
 *   outbox.list() -> entries               state "waiting" or "refused" (then `why`: field -> sentences)
 *   outbox.hold(order)                     while somebody changes it: this page does not send it
 *   outbox.replace(entry, files), outbox.discard(order), outbox.decideClock(isToCorrect), outbox.status
 *   Events: "change" (something in `status` or in the list), "sent" (detail: entry and verdict)
 */

import { moved } from "./moments.js";

const FIRST_WAIT_S = 2;
const LONGEST_WAIT_S = 300;
// Phones differ from each other by seconds; a greater difference is worth a question.
export const CLOCK_SLACK_S = 300;
// An answer about the clock holds for as long as the clock is off by about the same.
const SAME_CLOCK_S = 120;

const alone = (work) => work();
const forgetful = { get: () => null, set: () => {} };

export class Outbox extends EventTarget {
  constructor({ store, sender, person, lock = alone, memory = forgetful, timer = globalThis, now = Date.now }) {
    super();
    Object.assign(this, { store, sender, person, lock, memory, timer, now });
    this.status = { waiting: 0, refused: 0, state: "idle", clockOffS: 0 };
    this.failures = 0;
    this.notBefore = 0;
    this.asking = new Set();
    this.held = new Set();
    this.watchers = new Map();
  }

  list() {
    return this.store.all();
  }

  async keep(entry, files = []) {
    const kept = { ...entry, state: "waiting" };
    kept.order = await this.store.add(kept, files);
    await this.refresh();
    return kept;
  }

  hold(order) {
    this.held.add(order);
  }

  async replace(entry, files) {
    const mended = { ...entry, state: "waiting", why: undefined };
    await this.store.replace(mended, files);
    this.held.delete(entry.order);
    await this.refresh();
    return mended;
  }

  async discard(order) {
    await this.store.remove(order);
    await this.refresh();
  }

  async sendNow(order, ms) {
    this.asking.add(order);
    const verdict = new Promise((resolve) => this.watchers.set(order, resolve));
    const late = new Promise((resolve) => this.timer.setTimeout(() => resolve({ kind: "later" }), ms));
    this.flush();
    const first = await Promise.race([verdict, late]);
    // Nobody is asked any more once the page goes on.
    this.asking.delete(order);
    this.watchers.delete(order);
    return first;
  }

  /* One run at a time; asked for during a run, another one follows. */
  flush() {
    this.isWanted = true;
    this.running ??= this.attempts().finally(() => {
      this.running = null;
      for (const done of this.watchers.values()) done({ kind: "later" });
    });
    return this.running;
  }

  async attempts() {
    while (this.isWanted) {
      this.isWanted = false;
      await this.attempt().catch(() => this.again(LONGEST_WAIT_S));
    }
  }

  async attempt() {
    const wait = this.notBefore - this.now();
    if (wait > 0) return this.again(wait / 1000);
    const outcome = await this.lock(() => this.run());
    await this.refresh(outcome?.kind ?? "idle");
    if (outcome?.kind !== "later") return undefined;
    this.failures += 1;
    const askedS = Math.min(outcome.seconds ?? 0, LONGEST_WAIT_S);
    this.notBefore = this.now() + 1000 * askedS;
    return this.again(Math.max(backOff(this.failures), askedS));
  }

  again(seconds) {
    this.timer.clearTimeout(this.timeout);
    this.timeout = this.timer.setTimeout(() => this.flush(), 1000 * seconds);
  }

  /* Gives back what stopped it, or nothing when all that could go has gone. */
  async run() {
    if (!(await this.next(new Set(), new Set()))) return null;
    const hello = await this.sender.greet();
    if (hello.kind !== "ready") return hello;
    if (hello.person !== this.person) return { kind: "not-yours" };
    this.status.clockOffS = Math.abs(hello.clockOffS) > CLOCK_SLACK_S ? hello.clockOffS : 0;
    await this.refresh("sending");
    return this.sendAll();
  }

  async sendAll() {
    const tried = new Set();
    const stuck = new Set();
    let stopped = null;
    let entry;
    while ((entry = await this.next(tried, stuck))) {
      tried.add(entry.order);
      const verdict = await this.sendOne(entry);
      this.watchers.get(entry.order)?.(verdict);
      if (verdict.kind === "kept") this.failures = 0;
      if (["later", "clock", "sign-in", "not-yours"].includes(verdict.kind)) {
        stopped = verdict;
        // What happened later to the same loaf must not arrive earlier.
        stuck.add(entry.about);
        if (!verdict.alone) break;
      }
    }
    return stopped;
  }

  async next(tried, stuck) {
    const isNext = (entry) =>
      entry.state === "waiting" && !tried.has(entry.order) && !stuck.has(entry.about) && !this.held.has(entry.order);
    return (await this.store.all()).find(isNext);
  }

  async sendOne(entry) {
    if (!(await this.isClockSettled(entry))) return { kind: "clock", alone: true };
    const verdict = await this.sender.send(entry, await this.store.files(entry.order), this.asking.has(entry.order));
    if (verdict.kind === "kept") await this.store.remove(entry.order);
    if (verdict.kind === "refused" || verdict.kind === "clash") {
      await this.store.change({ ...entry, state: "refused", why: verdict.why, isClash: verdict.kind === "clash" });
    }
    // Asked while the person is there: it waits for their answer, and is kept as it is when they walk away.
    if (verdict.kind === "questions") this.hold(entry.order);
    if (verdict.words && verdict.kind === "later") await this.store.change({ ...entry, why: { "": [verdict.words] } });
    this.dispatchEvent(new CustomEvent("sent", { detail: { entry, verdict } }));
    await this.refresh();
    return verdict;
  }

  async isClockSettled(entry) {
    const off = this.status.clockOffS;
    if (!off || entry.clock) return true;
    const answer = this.memory.get("clock");
    if (!answer || Math.abs(answer.off - off) > SAME_CLOCK_S) return false;
    Object.assign(entry, answer.isToCorrect ? corrected(entry, off) : { clock: "as typed" });
    await this.store.change(entry);
    return true;
  }

  /* The person's word about a clock that is off: move the moments of what waits, or leave them. */
  decideClock(isToCorrect) {
    this.memory.set("clock", { off: this.status.clockOffS, isToCorrect });
    return this.flush();
  }

  async refresh(state = this.status.state) {
    const entries = await this.store.all();
    const count = (wanted) => entries.filter((entry) => entry.state === wanted).length;
    Object.assign(this.status, { waiting: count("waiting"), refused: count("refused"), state });
    this.dispatchEvent(new CustomEvent("change"));
  }
}

export function corrected(entry, offS) {
  const move = ([name, value]) => [name, name === entry.moment && value ? moved(value, -offS) : value];
  return { fields: entry.fields.map(move), clock: "corrected", movedS: -offS };
}

export function backOff(failures, random = Math.random) {
  const seconds = Math.min(LONGEST_WAIT_S, FIRST_WAIT_S * 2 ** (failures - 1));
  // Phones that lost the network together do not come back in the same second.
  return seconds * (0.75 + random() / 2);
}
