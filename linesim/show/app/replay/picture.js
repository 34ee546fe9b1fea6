/* The floor as it stands at one minute: aircraft put into the picture that the server drew without them. */
const SVG = 'http://www.w3.org/2000/svg', TEXT = 12, LEAST_SCALE = 0.83;  // text of 10 pixels
const measured = new Map(), ruler = document.createElement('canvas').getContext('2d');

function widthOf(text, weight, font) {
  const key = weight + font + text;
  if (!measured.has(key)) {
    ruler.font = `${weight} ${TEXT}px ${font}`;
    measured.set(key, ruler.measureText(text).width);
  }
  return measured.get(key);
}

function cutTo(text, room, weight, font) {
  if (widthOf(text, weight, font) <= room) return text;
  let part = text;
  while (part && widthOf(part + '…', weight, font) > room) part = part.slice(0, -1);
  return part ? part.trimEnd() + '…' : '';
}

function overWords(days) {
  if (days === null || days < 0.05) return '';
  return days < 9.95 ? '+' + fixed(days, 1) : '+' + fixed(days, 0);
}

class Picture {
  constructor(home, run, story) {
    this.home = home;
    this.run = run;
    this.story = story;
    this.shown = new Map();
    this.layout = null;
  }

  /* Take the widest drawing whose text stays readable; true if it is another than before. */
  fit(width) {
    const layouts = this.run.told.layouts;
    const found = layouts.filter(one => LEAST_SCALE * one.width <= width).pop() || layouts[0];
    if (found === this.layout) return false;
    this.layout = found;
    this.home.innerHTML = found.svg;
    this.svg = this.home.querySelector('svg');
    this.svg.removeAttribute('width');
    this.svg.removeAttribute('height');
    this.svg.removeAttribute('role');
    this.svg.setAttribute('aria-hidden', 'true');  // the counts, the sentence of moves and the table say it in words
    this.fleet = this.svg.appendChild(document.createElementNS(SVG, 'g'));
    this.shown.clear();
    return true;
  }

  draw(standing, minute) {
    const font = getComputedStyle(this.home).fontFamily, here = new Set();
    for (const one of standing) {
      here.add(one.part);
      if (!this.shown.has(one.part)) this.shown.set(one.part, this._new(one));
      this._put(this.shown.get(one.part), one, minute, font);
    }
    for (const [part, element] of this.shown) {
      if (here.has(part)) continue;
      element.link.remove();
      this.shown.delete(part);
    }
  }

  _new(one) {
    const make = (kind, home, name) => {
      const element = home.appendChild(document.createElementNS(SVG, kind));
      if (name) element.setAttribute('class', name);
      return element;
    };
    const link = make('a', this.fleet, 'aircraft'), serial = this.run.told.serials[one.serial];
    link.setAttribute('href', this.story + encodeURIComponent(serial));
    link.setAttribute('tabindex', '-1');
    link.dataset.serial = serial;
    const element = { link, title: make('title', link), shape: make('g', link), name: make('text', link, 'middle'),
      why: make('text', link, 'middle'), drawn: '' };
    make('rect', link, 'touch');
    element.name.setAttribute('y', 38);
    element.why.setAttribute('y', 53);
    return element;
  }

  _put(element, one, minute, font) {
    const told = this.run.told, [x, y, w] = this.layout.spots[one.frame][one.spot];
    const days = this.run.daysHere(one, minute), over = overWords(days.over), room = w - 4;
    element.title.textContent = this.run.sentence(one, minute);
    const drawn = [one.frame, one.spot, one.state, one.wording, over, x, y].join();
    if (drawn === element.drawn) return;
    element.drawn = drawn;
    element.link.style.transform = `translate(${x + w / 2}px, ${y + 26}px)`;
    element.link.dataset.state = told.states[one.state];
    element.shape.innerHTML = this._shape(one);
    const late = over ? widthOf(' ' + over, 600, font) : 0;
    element.name.innerHTML = '<tspan class="code"></tspan><tspan class="late"></tspan>';
    element.name.firstChild.textContent = cutTo(told.short[one.serial], room - late, 600, font);
    element.name.lastChild.textContent = over ? ' ' + over : '';
    const words = told.wordings[one.wording];
    element.why.textContent = words.find(text => widthOf(text, 400, font) <= room)
      || cutTo(words[words.length - 1], room, 400, font);
    const touch = element.link.lastChild;
    for (const [name, value] of [['x', -w / 2 + 1], ['y', -25], ['width', w - 2], ['height', 84]])
      touch.setAttribute(name, value);
  }

  _shape(one) {
    const told = this.run.told, paths = told.shapes[one.half], state = told.states[one.state];
    const outline = state === 'off shift' ? paths.map(path => `<path class="outline" d="${path}"/>`).join('') : '';
    const name = state === 'off shift' ? 'off' : state;
    const propeller = told.frames[one.frame].propeller && !one.half
      ? `<path class="propeller" d="${told.propeller}"/>` : '';
    return outline + paths.map(path => `<path class="${name}" d="${path}"/>`).join('') + propeller;
  }
}

/* What moved between two moments, in words. */
function movesWords(run, before, after, from, to) {
  const told = run.told, was = new Map(before.map(one => [one.part, one])), said = [];
  const name = one => told.short[one.serial] + (one.half ? ' ' + one.half : '');
  for (const one of after) {
    const old = was.get(one.part), parked = told.wheres[one.where].startsWith('parked');
    const place = (parked ? 'parked before ' : 'to ') + told.frames[one.frame].place;
    if (!old) {
      const joined = !one.half && before.some(other => other.serial === one.serial);
      said.push(joined ? `${name(one)} mated, ${place}` : `${name(one)} new, ${place}`);
    } else if (old.frame !== one.frame) said.push(`${name(one)} ${place}`);
  }
  for (const [minute, serial, how] of told.delivered)
    if (from < minute && minute <= to)
      said.push(`${told.short[serial]} ${how === 'delivered' ? 'delivered' : 'finished as stock'}`);
  if (!said.length) return 'nothing moved';
  return said.slice(0, 6).join(', ') + (said.length > 6 ? ` and ${said.length - 6} more` : '');
}
