/* The replay: the bar, the moment, the picture and the strip. Plays in the page; the server hears of it on a pause. */
const HINT = 'With the picture in focus the space bar plays, arrows step two hours, and with shift a day. '
  + 'An aircraft leads to its story.';
const TOLD_AFTER = 600, TALL = 1000, NARROW = 640;
const SPEEDS = [['slow: 1 day in 4 s', 4], ['1 day in 2 s', 2], ['fast: 1 week in 2 s', 0.4]];
const PAGE = `
<div class="bar">
 <button type="button" class="go" data-do="play">Play</button>
 <button type="button" data-do="day-back">Back a day</button><button type="button" data-do="back">Back 2 h</button>
 <button type="button" data-do="on">On 2 h</button><button type="button" data-do="day-on">On a day</button>
 <button type="button" data-do="jam">First jam</button><button type="button" data-do="worst">Worst jam</button>
 <span class="room"></span>
 <label>Go to date<input class="date" type="text" size="16" placeholder="YYYY-MM-DD" autocomplete="off"
  spellcheck="false"></label>
 <label>Speed<select>${SPEEDS.map(([name], n) =>
    `<option value="${n}"${n === 1 ? ' selected' : ''}>${name}</option>`).join('')}</select></label>
</div>
<p class="fault" role="alert" hidden></p>
<div class="now"></div>
<p class="moves"></p>
<div class="picture" tabindex="0" role="group"
 aria-label="The floor. Space plays and pauses; left and right arrow step two hours, with shift a day. The table below
 says the same in words."></div>
<div class="strip"><h3>When it jams</h3>
 <p>What stands on the floor, one column for each two hours in which somebody works, blocked at the foot. A half before
 mate counts by itself. Press a column, or move the slider, to go there.</p>
 <div class="columns"></div><div class="axis"></div>
 <input type="range" min="0" step="1" aria-label="Moment shown"></div>`;

class Replay {
  constructor(home, data, tell) {
    this.home = home;
    this.key = data.key;
    this.tell = tell;
    this.run = new Run(JSON.parse(data.document));
    home.innerHTML = PAGE;
    this.$ = name => home.querySelector(name);
    this.picture = new Picture(this.$('.picture'), this.run, data.story);
    this.strip = new Strip(this.$('.strip'), this.run, minute => this.goTo(minute));
    this.timer = this.telling = null;
    for (const name of ['jam', 'worst']) this.$(`[data-do=${name}]`).hidden = !this.run.told[name];
    this._listen();
    this.watch = new ResizeObserver(() => this._fit());
    this.watch.observe(home);
    this.minute = data.at;
    this._fit();
    this.goTo(data.at, false);
  }

  _listen() {
    const run = this.run, acts = {
      play: () => (this.timer ? this.pause() : this.play()),
      'day-back': () => this.goTo(run.daysOn(this.minute, -1)), back: () => this.goTo(run.stepsOn(this.minute, -1)),
      on: () => this.goTo(run.stepsOn(this.minute, 1)), 'day-on': () => this.goTo(run.daysOn(this.minute, 1)),
      jam: () => this.goTo(run.told.jam.minute), worst: () => this.goTo(run.told.worst.minute) };
    this.$('.bar').onclick = event => acts[event.target.dataset.do]?.();
    this.$('select').onchange = () => { if (this.timer) { this.pause(); this.play(); } };
    this.$('.date').onchange = () => this._goToDate();
    this.$('.picture').onkeydown = event => {
      const day = event.shiftKey ? 'day-' : '', act = { ' ': 'play', ArrowRight: `${day}on`, ArrowLeft: `${day}back` };
      if (!act[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      event.stopPropagation();
      acts[act[event.key]]();
    };
  }

  _goToDate() {
    const text = this.$('.date').value, minute = this.run.minuteOf(text), fault = this.$('.fault'), run = this.run;
    fault.hidden = minute !== null;
    this.$('.date').setAttribute('aria-invalid', minute === null);
    if (minute !== null) return this.goTo(minute);
    fault.textContent = `Go to date: ${text || 'nothing'}: a date from ${run.told.start} to `
      + `${run.days[run.days.length - 1].date}, as YYYY-MM-DD or YYYY-MM-DD HH:MM.`;
  }

  /* Show a minute; a person went there, so playing ends. */
  goTo(minute, told = true) {
    this._stop();
    this._show(minute);
    if (told) this._tellSoon();
  }

  play() {
    const day = SPEEDS[+this.$('select').value][1] * 1000, tick = Math.max(60, day / this.run.stepsADay);
    const steps = Math.max(1, Math.round(tick / (day / this.run.stepsADay)));
    clearTimeout(this.telling);
    this.$('.go').textContent = 'Pause';
    this.home.style.setProperty('--slide', `${Math.min(350, tick * 0.9)}ms`);
    this.$('.now').removeAttribute('aria-live');
    if (this.minute >= this.run.steps[this.run.steps.length - 1]) this._show(this.run.steps[0]);
    this.timer = setInterval(() => {
      const next = this.run.stepsOn(this.minute, steps);
      if (next <= this.minute) return this.pause();
      this._show(next);
    }, tick);
  }

  pause() {
    this._stop();
    this._tellSoon();
  }

  _stop() {
    clearInterval(this.timer);
    this.timer = null;
    this.$('.go').textContent = 'Play';
    this.home.style.setProperty('--slide', '350ms');
    this.$('.now').setAttribute('aria-live', 'polite');
  }

  _tellSoon() {
    clearTimeout(this.telling);
    this.telling = setTimeout(() => this.tell(this.minute), TOLD_AFTER);
  }

  _fit() {
    const width = this.home.clientWidth;
    if (!width) return;
    this.home.classList.toggle('narrow', width < NARROW);
    this.home.classList.toggle('tall', width >= NARROW && this._tall());
    if (this.picture.fit(this.$('.picture').clientWidth)) this.picture.draw(this.run.at(this.minute), this.minute);
    if (width !== this.width) this.strip.axis(width);
    this.width = width;
  }

  /* A picture that does not fit on a screen stands below the strip. */
  _tall() {
    return this.run.told.layouts[this.run.told.layouts.length - 1].height > TALL;
  }

  _show(minute) {
    const began = performance.now(), run = this.run, standing = run.at(minute), before = this.minute;
    if (this.picture.layout) this.picture.draw(standing, minute);
    this.$('.moves').textContent = this._near(before, minute)
      ? `Since ${run.wall(before)}: ${movesWords(run, run.at(before), standing, before, minute)}.`
      : this.width < NARROW ? '\u00a0' : HINT;
    this.minute = minute;
    this._now(standing, minute);
    this.strip.draw(minute);
    const field = this.$('.date');
    if (this.home.getRootNode().activeElement !== field) field.value = run.wall(minute).slice(0, 10);
    this.took = performance.now() - began;
    this.home.dataset.minute = minute;
    this.home.dataset.took = this.took.toFixed(1);
  }

  /* Whether it is about a day, or the step over days off, from one minute to a later one. */
  _near(before, minute) {
    const steps = this.run.stepAt(minute) - this.run.stepAt(before);
    return before < minute && minute - before <= 5 * DAY && steps <= this.run.stepsADay + 1;
  }

  _now(standing, minute) {
    const run = this.run, counts = run.counts(standing), told = run.told, finished = run.finished(minute);
    const swatch = state => (state ? `<i class="${state.replace(' shift', '')}"></i>` : '');
    const part = (count, word, state) => `<span class="count">${swatch(state)}<b>${count}</b> ${word}</span>`;
    const states = told.states.map((state, k) => [counts[k], state]).reverse()
      .sort((one, other) => (one[1] === 'off shift') - (other[1] === 'off shift'));
    this.$('.now').innerHTML = `<span class="at">${run.wall(minute)}</span>${part(standing.length, 'on the floor')}`
      + states.map(([count, state]) => part(count, state, state)).join('') + part(finished.delivered, 'delivered')
      + (finished.stock ? part(finished.stock, 'finished stock') : '');
  }

  end() {
    this._stop();
    clearTimeout(this.telling);
    this.watch.disconnect();
  }
}

/* Light or dark, by the page's own colour. */
function modeOf(element) {
  const probe = element.appendChild(document.createElement('i'));
  probe.style.color = 'var(--st-background-color, white)';
  const [red, green, blue] = getComputedStyle(probe).color.match(/[\d.]+/g).map(Number);
  probe.remove();
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue < 128 ? 'dark' : 'light';
}

export default function ({ parentElement, data, setStateValue }) {
  const home = parentElement.querySelector('.replay');
  home.dataset.mode = modeOf(home);
  if (home.replay?.key !== data.key) {
    home.replay?.end();
    home.replay = new Replay(home, data, minute => setStateValue('minute', minute));
  }
  home.replay.tell = minute => setStateValue('minute', { run: data.key, minute });
  return () => { home.replay?.end(); delete home.replay; };
}
