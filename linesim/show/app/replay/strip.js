/* When it jams: one column for each step, what stood on the floor stacked by state; it is the slider, too. */
const NAMES = { 'off shift': 'off' };

class Strip {
  constructor(home, run, go) {
    this.home = home;
    this.run = run;
    const told = run.told, wide = run.steps.length;
    const tops = run.steps.map((_, n) => told.counts.reduce((sum, of) => sum + of[n], 0));
    this.most = Math.max(1, ...tops);
    let foot = run.steps.map(() => 0);
    const paths = told.states.map((state, k) => {
      const top = foot.map((low, n) => low + told.counts[k][n]);
      const path = `<path class="${NAMES[state] || state}" d="${this._edge(top, true)}${this._edge(foot, false)}Z"/>`;
      foot = top;
      return path;
    }).join('');
    home.querySelector('.columns').innerHTML = `<svg viewBox="0 0 ${wide} ${this.most}" preserveAspectRatio="none" `
      + `aria-hidden="true">${paths}<path class="edge" d="${this._edge(tops, true)}"/></svg><i class="moment"></i>`
      + (told.jam ? '<b class="jam">first jam</b>' : '');
    this.moment = home.querySelector('.moment');
    this.slider = home.querySelector('input');
    this.slider.max = wide - 1;
    this.slider.oninput = () => go(run.steps[+this.slider.value]);
    this._pointer(home.querySelector('.columns'), go);
    if (told.jam) {
      const at = run.stepAt(told.jam.minute) / wide, label = home.querySelector('.jam');
      label.style[at > 0.8 ? 'right' : 'left'] = `${100 * (at > 0.8 ? 1 - at : at)}%`;
      label.classList.toggle('left', at > 0.8);
    }
  }

  /* The upper edge of columns, from the left or from the right. */
  _edge(heights, fromLeft) {
    const y = n => this.most - heights[n], last = heights.length - 1;
    let path = fromLeft ? `M0 ${y(0)}` : `L${last + 1} ${y(last)}`;
    for (let k = 0; k <= last; k++) {
      const n = fromLeft ? k : last - k, next = fromLeft ? n + 1 : n - 1;
      if (k < last && heights[next] === heights[n]) continue;
      path += `H${fromLeft ? n + 1 : n}`;
      if (k < last) path += `V${y(next)}`;
    }
    return path;
  }

  _pointer(columns, go) {
    const stepOf = event => {
      const box = columns.getBoundingClientRect();
      const n = Math.floor((event.clientX - box.left) / box.width * this.run.steps.length);
      return Math.max(0, Math.min(this.run.steps.length - 1, n));
    };
    columns.onpointerdown = event => {
      columns.setPointerCapture(event.pointerId);
      go(this.run.steps[stepOf(event)]);
    };
    columns.onpointermove = event => {
      const n = stepOf(event);
      if (columns.hasPointerCapture(event.pointerId)) go(this.run.steps[n]);
      columns.title = this._said(n);
    };
  }

  /* A column in words. */
  _said(n) {
    const told = this.run.told, counts = told.states.map((state, k) => [told.counts[k][n], state]);
    const said = counts.filter(([count]) => count).map(([count, state]) => `${count} ${state}`).join(', ');
    return `${this.run.wall(this.run.steps[n])}: ${said || 'empty'}`;
  }

  draw(minute) {
    const n = this.run.stepAt(minute), wide = this.run.steps.length;
    this.moment.style.left = `${100 * n / wide}%`;
    this.moment.style.width = `max(5px, ${100 / wide}%)`;
    if (+this.slider.value !== n) this.slider.value = n;
    this.slider.setAttribute('aria-valuetext', this._said(n));
  }

  /* Mondays marked; dates written where there is room: of every week, else months. */
  axis(width) {
    const run = this.run, wide = run.steps.length;
    const weeks = run.days.filter((day, n) => n === 0 || this._week(day.date) !== this._week(run.days[n - 1].date));
    const months = run.days.filter((day, n) => n > 0 && day.date.slice(0, 7) !== run.days[n - 1].date.slice(0, 7));
    const some = width / weeks.length >= 86 ? weeks : months;
    const each = Math.max(1, Math.ceil(some.length * (some === weeks ? 86 : 62) / Math.max(1, width)));
    const ticks = width / weeks.length >= 5 ? weeks : months;
    const left = day => `style="left:${100 * day.first / wide}%"`, room = day => (1 - day.first / wide) * width > 60;
    const text = day => (some === weeks ? day.date : day.date.slice(0, 7));
    const named = [], need = some === weeks ? 78 : 56;  // where the first week is short, the next one is named
    for (const day of some.filter((day, n) => n % each === 0 && room(day))) {
      const last = named[named.length - 1];
      if (!last || (day.first - last.first) * width / wide >= need) named.push(day);
      else if (named.length === 1) named[0] = day;
    }
    this.home.querySelector('.axis').innerHTML = ticks.map(day => `<i ${left(day)}></i>`).join('')
      + named.map(day => `<span ${left(day)}>${text(day)}</span>`).join('');
  }

  _week(date) {
    return Math.floor((Date.parse(date + 'T00:00Z') / 86400000 + 3) / 7);
  }
}
