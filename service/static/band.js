// The band under the finger: a bundle that is tapped is the one reached. Wider, whole tens are tapped; the strip below
// shows the whole length and moves along it. By keyboard it is a slider whose number is counted to by Enter.
(() => {
  "use strict";
  const TARGET = 48, TALL = 150, TOP = 8, FOOT = 112, NUMBERS = 136, STRIP = 48;
  const MOST_LINES = 6;
  const svg = (name, attributes, parent) => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    parent?.append(made);
    return made;
  };
  const make = (name, attributes, words = "") => {
    const made = document.createElement(name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    made.textContent = words;
    return made;
  };

  class Band {
    constructor(host, hand, reach, onceSettled) {
      Object.assign(this, { host, hand, reach, by: 1, from: null, aim: null, pass: { whole: 1, sizes: [] }, done: 0 });
      this.near = make("div", { class: "band", role: "slider", tabindex: "0", "aria-label": `The ${hand.one} you reached` });
      this.far = make("div", { class: "strip", "aria-hidden": "true" });
      const tools = make("p", { class: "quick", role: "group", "aria-label": "The band" });
      this.back = make("button", { type: "button", class: "second", "aria-label": "Back along the band" }, hand.leftwards ? "→" : "←");
      this.on = make("button", { type: "button", class: "second", "aria-label": "On along the band" }, hand.leftwards ? "←" : "→");
      this.zoom = make("button", { type: "button", class: "second", id: "zoom" });
      tools.append(...(hand.leftwards ? [this.on, this.zoom, this.back] : [this.back, this.zoom, this.on]));
      this.tools = tools;
      this.back.addEventListener("click", () => this.move(this.first - this.cells));
      this.on.addEventListener("click", () => this.move(this.first + this.cells));
      this.zoom.addEventListener("click", () => this.widen(this.by === 1 ? 10 : 1));
      this.near.addEventListener("click", (event) => this.tapped(event, onceSettled));
      this.near.addEventListener("keydown", (event) => this.typed(event));
      this.far.addEventListener("click", (event) => this.pointed(event));
      this.followPinch();
      new ResizeObserver(() => this.draw()).observe(host);
    }

    get cells() { return Math.max(3, Math.floor(this.host.clientWidth / TARGET)); }
    get most() { return Math.ceil(this.pass.whole / this.by); }
    get first() {
      const wanted = this.from ?? Math.floor(this.done / this.by) - (this.by === 1 ? 1 : 0);
      return Math.max(0, Math.min(wanted, this.most - this.cells));
    }

    show(pass, done) {
      Object.assign(this, { pass, done, from: null, aim: Math.min(done + 1, pass.whole) });
      // The drawing gives way to a band that is drawn at once: an empty one would move what stands below twice.
      if (!this.near.isConnected) this.host.replaceChildren(this.near, this.far, this.tools);
      this.draw();
    }

    move(first) { this.from = first; this.draw(); }
    widen(by) {
      this.by = by;
      this.from = null;
      this.draw();
    }

    numberAt(cell) { return Math.min((cell + 1) * this.by, this.pass.whole); }

    draw() {
      const width = this.host.clientWidth;
      if (!width || !this.near.isConnected) return;
      const shown = Math.min(this.cells, this.most), wide = width / shown;
      const picture = svg("svg", { viewBox: `0 0 ${width} ${TALL}`, width, height: TALL, fill: "none", "aria-hidden": "true" });
      svg("rect", { class: "d-gap", x: 0, y: TOP, width, height: FOOT - TOP }, picture);
      for (let each = 0; each < shown; each += 1) {
        const cell = this.first + each;
        const left = (this.hand.leftwards ? shown - 1 - each : each) * wide;
        this.drawCell(picture, cell, left, wide);
      }
      svg("path", { class: "d-edge", "stroke-width": 1.4, d: `M0 ${TOP}H${width}M0 ${FOOT}H${width}` }, picture);
      this.near.replaceChildren(picture);
      this.drawStrip(width, shown);
      const unit = this.by === 1 ? "" : " by tens", { figure } = Stopline.place;
      this.zoom.textContent = this.by === 1 ? "Wider: tens" : "Closer: one by one";
      this.zoom.hidden = this.pass.whole <= this.cells;
      this.back.hidden = this.on.hidden = this.most <= this.cells;
      for (const [name, value] of Object.entries({ valuemin: Math.min(this.done, this.pass.whole), valuemax: this.pass.whole, valuenow: this.aim, valuetext: `${this.hand.one} ${figure(this.aim)} of ${figure(this.pass.whole)}, ${figure(this.done)} done${unit}` })) this.near.setAttribute(`aria-${name}`, value);
    }

    drawCell(picture, cell, left, wide) {
      const number = this.numberAt(cell), isDone = number <= this.done, isNext = number > this.done && cell * this.by <= this.done;
      const each = svg("g", { "data-number": number }, picture);
      const lines = this.by === 1 ? Math.min(this.pass.sizes[cell] ?? (this.hand.of_bundles ? 4 : 1), MOST_LINES) : number - cell * 10;
      const tied = this.by === 1 ? (isDone ? lines : 0) : Math.max(0, Math.min(lines, Math.floor(this.done) - cell * 10));
      const gap = wide / (lines + 1), waist = FOOT - 22, middle = left + wide / 2;
      for (let line = 1; line <= lines; line += 1) {
        const x = left + gap * line, drawn = line <= tied, lean = this.by === 1 ? middle + (x - middle) * 0.25 : x;
        const bends = drawn && lines > 1 && this.by === 1;
        svg("path", { class: drawn ? "d-done" : "d-thread", "stroke-width": drawn ? 2 : 1.4, d: bends ? `M${x} ${TOP}Q${x} ${waist - 30} ${lean} ${waist}L${x} ${FOOT}` : `M${x} ${TOP}V${FOOT}` }, each);
        if (drawn && this.by !== 1) svg("path", { class: "d-knot", "stroke-width": 3, d: `M${x - 2} ${waist}h4` }, each);
      }
      if (isDone && this.by === 1) svg("path", { class: "d-knot", "stroke-width": 3, d: `M${middle - 6} ${waist}h12` }, each);
      if (isNext) svg("path", { class: "d-here", "stroke-width": 1.8, d: `M${left + 4} ${FOOT + 4}v5H${left + wide - 4}v-5` }, each);
      if (number === this.aim && this.near === document.activeElement) svg("rect", { class: "d-here", "stroke-width": 1.8, x: left + 2, y: TOP + 2, width: wide - 4, height: FOOT - TOP - 4 }, each);
      const words = svg("text", { class: isNext ? "d-here-text" : "d-quiet", x: middle, y: NUMBERS, "text-anchor": "middle", "font-size": 15, "font-weight": isNext ? 600 : 400 }, each);
      words.textContent = Stopline.place.figure(number);
      svg("rect", { class: "d-hit", x: left, y: 0, width: wide, height: TALL, fill: "none", "pointer-events": "all" }, each);
    }

    drawStrip(width, shown) {
      const picture = svg("svg", { viewBox: `0 0 ${width} ${STRIP}`, width, height: STRIP, fill: "none" });
      const along = (number) => (this.hand.leftwards ? 1 - number / this.pass.whole : number / this.pass.whole) * width;
      const box = (from, to, attributes) => {
        const [a, b] = [along(from), along(to)].sort((one, other) => one - other);
        svg("rect", { x: a, width: Math.max(1, b - a), ...attributes }, picture);
      };
      box(0, this.pass.whole, { class: "d-gap", y: 14, height: 20 });
      box(0, Math.min(this.done, this.pass.whole), { class: "d-fill", y: 14, height: 20 });
      for (let ten = 10; ten < this.pass.whole && this.pass.whole <= 400; ten += 10) svg("path", { class: "d-edge", "stroke-width": 1, d: `M${along(ten)} 30v6` }, picture);
      box(this.first * this.by, Math.min((this.first + shown) * this.by, this.pass.whole), { class: "d-here", y: 8, height: 32, "stroke-width": 2 });
      this.far.replaceChildren(picture);
    }

    tapped(event, onceSettled) {
      const number = Number(event.target.closest("[data-number]")?.dataset.number);
      if (!number || this.pinched) return;
      onceSettled(() => this.reach(number))(event);
    }

    pointed({ clientX }) {
      const { left, width } = this.far.getBoundingClientRect();
      const part = (clientX - left) / width;
      const number = (this.hand.leftwards ? 1 - part : part) * this.pass.whole;
      this.move(Math.round(number / this.by - this.cells / 2));
    }

    typed(event) {
      const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
      const sideways = event.key === "ArrowRight" || event.key === "ArrowLeft";
      const ends = { Home: this.done + 1, End: this.pass.whole };
      if (event.key === "Enter" || event.key === " ") this.reach(this.aim);
      else if (step) this.aim += sideways && this.hand.leftwards ? -step : step;
      else if (event.key in ends) this.aim = ends[event.key];
      else return;
      event.preventDefault();
      this.aim = Math.max(Math.min(this.done + 1, this.pass.whole), Math.min(this.aim, this.pass.whole));
      const cell = Math.ceil(this.aim / this.by) - 1;
      if (cell < this.first || cell >= this.first + this.cells) this.from = cell - 1;
      this.draw();
    }

    // Two fingers drawn apart come closer, drawn together go wider.
    followPinch() {
      const fingers = new Map();
      let apart = 0;
      const distance = () => { const [one, other] = [...fingers.values()]; return Math.hypot(one.x - other.x, one.y - other.y); };
      const put = ({ pointerId, clientX, clientY }) => fingers.set(pointerId, { x: clientX, y: clientY });
      this.near.addEventListener("pointerdown", (event) => {
        if (!fingers.size) this.pinched = false;
        put(event);
        if (fingers.size === 2) { apart = distance(); this.pinched = true; }
      });
      this.near.addEventListener("pointermove", (event) => {
        if (!fingers.has(event.pointerId)) return;
        put(event);
        if (fingers.size !== 2 || !apart) return;
        const ratio = distance() / apart;
        if (ratio > 1.3 || ratio < 0.77) { apart = 0; this.widen(ratio > 1 ? 1 : 10); }
      });
      for (const gone of ["pointerup", "pointercancel", "pointerleave"]) this.near.addEventListener(gone, ({ pointerId }) => fingers.delete(pointerId));
    }
  }

  Stopline.Band = Band;
})();
