/* A round of weighing, without a screen.
 *
 *   new Round(bars, {log, skipped})   bars in their order: {key, loaf, number, lastG, lowG, highG, leastG, stepG, ...}
 *   round.current                     the bar that wants the scale, null when all had their turn
 *   round.onScale                     current and those ticked beside it
 *   round.keep({weightG, ...told})    of what is on the scale; round.undo() gives that entry of the log back
 *   round.skip(), round.back(), round.goTo(key), round.tick(key, isOn), round.tickMany(), round.takeSkipped()
 *   round.putTogether(numbers)        the first of these bars and, ticked beside it, the others
 *   round.known()                     what questions.js wants to know of the bars on the scale
 *   round.totals()
 */

import { contextOf } from "./weigh.js";

export class Round {
  constructor(bars, { log = [], skipped = [] } = {}) {
    this.bars = bars;
    this.log = log;
    this.skipped = new Set(skipped);
    this.at = null;
    this.beside = new Set();
  }

  get kept() {
    return new Map(this.log.flatMap((entry) => entry.bars.map((key) => [key, entry])));
  }

  get current() {
    const kept = this.kept;
    const isLeft = (bar) => !kept.has(bar.key) && !this.skipped.has(bar.key);
    return this.bar(this.at) ?? this.bars.find(isLeft) ?? null;
  }

  get onScale() {
    const { current } = this;
    return current ? this.ofLoaf(current).filter((bar) => bar === current || this.beside.has(bar.key)) : [];
  }

  bar(key) {
    return this.bars.find((bar) => bar.key === key) ?? null;
  }

  ofLoaf(one) {
    return this.bars.filter((bar) => bar.loaf === one.loaf);
  }

  goTo(key) {
    this.skipped.delete(key);
    this.at = key;
    this.beside.clear();
  }

  tick(key, isOn) {
    if (isOn) this.beside.add(key);
    else this.beside.delete(key);
  }

  /* Those that the plan wants together; else the whole tray: those of the loaf that have no weight yet. */
  tickMany() {
    const { current, kept } = this;
    const left = this.ofLoaf(current).filter((bar) => !kept.has(bar.key));
    const planned = current.isTogether ? left.filter((bar) => bar.isTogether) : [];
    for (const bar of planned.length > 1 ? planned : left) this.beside.add(bar.key);
  }

  putTogether(numbers) {
    const [first, ...others] = this.bars.filter((bar) => numbers.includes(bar.number));
    if (!first) return;
    this.goTo(first.key);
    for (const bar of others) this.tick(bar.key, true);
  }

  keep(told) {
    this.log.push({ ...told, bars: this.onScale.map((bar) => bar.key) });
    this.goTo(null);
  }

  undo() {
    const last = this.log.pop();
    if (last) this.goTo(last.bars[0]);
    return last;
  }

  skip() {
    const { current } = this;
    this.goTo(null);
    if (current) this.skipped.add(current.key);
  }

  /* To the bar before, of those that have no weight yet. */
  back() {
    const { current, kept } = this;
    const before = this.bars.slice(0, current ? this.bars.indexOf(current) : this.bars.length);
    const last = before.findLast((bar) => !kept.has(bar.key));
    if (last) this.goTo(last.key);
  }

  takeSkipped() {
    this.skipped.clear();
  }

  known() {
    const kept = this.kept;
    const alone = (key) => (kept.get(key)?.bars.length === 1 ? kept.get(key).weightG : null);
    const latest = (bar) => ({ ...bar, lastG: alone(bar.key) ?? bar.lastG });
    const numbers = this.onScale.map((bar) => bar.number);
    return contextOf(this.ofLoaf(this.current).map(latest), numbers, this.current.stepG);
  }

  totals() {
    const changes = this.log.map(({ bars, weightG }) => {
      const each = bars.map((key) => this.bar(key)).filter(Boolean);
      const lastG = each.reduce((sum, bar) => (sum === null || bar.lastG === null ? null : sum + bar.lastG), 0);
      return { bars: each, nowG: weightG, lastG };
    });
    const compared = changes.filter(({ lastG }) => lastG !== null);
    const sum = (rows, name) => rows.reduce((total, row) => total + row[name], 0);
    return {
      changes,
      weighed: this.kept.size,
      skipped: this.skipped.size,
      nowG: sum(changes, "nowG"),
      lastG: sum(compared, "lastG"),
      changeG: sum(compared, "nowG") - sum(compared, "lastG"),
    };
  }
}
