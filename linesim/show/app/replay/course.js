/* One run, read from its document: what stands where at any whole minute, and the clocks of the plant. */
const HOUR = 60, DAY = 1440;

/* Number of sorted values that are `value` or less. */
function upTo(values, value) {
  let low = 0, high = values.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (values[middle] <= value) low = middle + 1; else high = middle;
  }
  return low;
}

/* A number with so many decimals, a tie to the even digit: as the table below the picture prints it. */
function fixed(value, digits) {
  const scaled = value * 10 ** digits, whole = Math.floor(scaled);
  const tie = Number.isInteger(value * 4) && scaled - whole === 0.5;
  return tie ? ((whole + (whole % 2)) / 10 ** digits).toFixed(digits) : value.toFixed(digits);
}

class Run {
  constructor(told) {
    this.told = told;
    this.steps = told.steps;
    this.zero = Date.parse(told.start + 'T00:00Z');
    this.perPart = told.parts.map(() => ({ minutes: [], changes: [] }));
    const { passed, part } = told.changes;
    let minute = 0;
    for (let n = 0; n < passed.length; n++) {
      minute += passed[n];
      this.perPart[part[n]].minutes.push(minute);
      this.perPart[part[n]].changes.push(n);
    }
    this.starts = told.clock.map(block => block[0]);
    this.read = [0];
    for (const [first, last] of told.clock) this.read.push(this.read[this.read.length - 1] + (last - first));
    this.turns = told.offsets.map(row => row[0]);
    this.days = [];  // of each date with steps: the first step, and the first after it
    this.steps.forEach((step, n) => {
      const date = this.wall(step).slice(0, 10);
      if (!this.days.length || this.days[this.days.length - 1].date !== date) this.days.push({ date, first: n });
    });
    this.firsts = this.days.map(day => day.first);
    this.ended = told.delivered.map(row => row[0]);
  }

  /* Everything that stands on the floor at a minute. */
  at(minute) {
    const found = [], { stay, said } = this.told.changes;
    this.perPart.forEach((of, part) => {
      const n = upTo(of.minutes, minute) - 1;
      if (n < 0 || stay[of.changes[n]] < 0) return;
      const [serial, half] = this.told.parts[part];
      const [frame, spot, since, allowed, where] = this.told.stays[stay[of.changes[n]]];
      const [state, wording, why] = this.told.said[said[of.changes[n]]];
      found.push({ part, serial, half, frame, spot, since, allowed, where, state, wording, why });
    });
    return found;
  }

  /* Work days that something has stood here, on the reference shift, and how many of them are beyond the takt. */
  daysHere(one, minute) {
    const here = (this.reading(minute) - this.reading(one.since)) / this.told['work day'];
    return { here, over: one.allowed === null ? null : here - one.allowed };
  }

  reading(t) {
    const n = upTo(this.starts, t) - 1;
    return n < 0 ? 0 : Math.min(this.read[n] + (t - this.starts[n]), this.read[n + 1]);
  }

  /* The whole sentence of what stands somewhere. */
  sentence(one, minute) {
    const told = this.told, days = this.daysHere(one, minute);
    const over = days.over !== null && days.over >= 0.05 ? `, ${fixed(days.over, 1)} more than the takt allows` : '';
    const name = told.serials[one.serial] + (one.half ? ' ' + one.half : '');
    return `${name} ${told.wheres[one.where]}${told.whys[one.why]}. `
      + `Here since ${this.wall(Math.floor(one.since + 0.5))}, ${fixed(days.here, 1)} work days${over}.`;
  }

  counts(standing) {
    const found = this.told.states.map(() => 0);
    for (const one of standing) found[one.state] += 1;
    return found;
  }

  /* Those that left the floor finished up to a minute: how many delivered, how many for stock. */
  finished(minute) {
    const gone = this.told.delivered.slice(0, upTo(this.ended, minute));
    const delivered = gone.filter(row => row[2] === 'delivered').length;
    return { delivered, stock: gone.length - delivered };
  }

  /* clocks and steps -------------------------------------------------------------------------------------------- */
  wall(minute) {
    const ahead = this.told.offsets[Math.max(0, upTo(this.turns, minute) - 1)][1];
    return new Date(this.zero + (minute + ahead) * 60000).toISOString().slice(0, 16).replace('T', ' ');
  }

  /* The minute of a date (its first step, or that of the next date that has any) or of a date and time; null where the
     text is neither, or lies outside the run. */
  minuteOf(text) {
    const parts = /^\s*(\d{4})-(\d{2})-(\d{2})(?:[ T](\d{1,2}):(\d{2}))?\s*$/.exec(text);
    if (!parts) return null;
    const [year, month, day, hour, minute] = parts.slice(1).map(Number);
    const date = new Date(Date.UTC(year, month - 1, day));
    if (date.getUTCMonth() !== month - 1 || date.getUTCDate() !== day) return null;
    if (parts[4] === undefined) {
      const iso = date.toISOString().slice(0, 10), found = this.days.find(one => one.date >= iso);
      return iso < this.told.start || !found ? null : this.steps[found.first];
    }
    if (hour > 23 || minute > 59) return null;
    const wall = (date.getTime() - this.zero) / 60000 + hour * HOUR + minute;
    const found = this.told.offsets.map(row => wall - row[1]).find(t => this.wall(t) === this.wallOf(wall));
    return found === undefined || found < 0 || found > this.told.until ? null : found;
  }

  wallOf(wall) {
    return new Date(this.zero + wall * 60000).toISOString().slice(0, 16).replace('T', ' ');
  }

  /* Number of the last step that is not after a minute. */
  stepAt(minute) {
    return Math.max(0, upTo(this.steps, minute) - 1);
  }

  /* So many steps on or back; from between two steps back means the one before. */
  stepsOn(minute, number) {
    const here = this.stepAt(minute), between = this.steps[here] !== minute && number < 0 ? 1 : 0;
    return this.steps[Math.max(0, Math.min(this.steps.length - 1, here + number + between))];
  }

  /* The same time of day on the next or last date that has steps, or the last step there before it. */
  daysOn(minute, number) {
    const here = upTo(this.firsts, this.stepAt(minute)) - 1;
    const to = Math.max(0, Math.min(this.days.length - 1, here + number));
    if (to === here) return this.steps[number < 0 ? 0 : this.steps.length - 1];
    const end = to + 1 < this.firsts.length ? this.firsts[to + 1] : this.steps.length;
    const time = this.wall(minute).slice(11);
    for (let n = end - 1; n > this.firsts[to]; n--)
      if (this.wall(this.steps[n]).slice(11) <= time) return this.steps[n];
    return this.steps[this.firsts[to]];
  }

  get stepsADay() {
    return this.steps.length / this.days.length;
  }
}
