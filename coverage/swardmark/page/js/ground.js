// Zones and the lawn's outline, drawn on the ground seen straight down, in meters: x to the right, y away from you.
// What was drawn and not saved stays here, whatever others save meanwhile; the keeper decides between the two.
const copy = (value) => JSON.parse(JSON.stringify(value));
const gap = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
const area = (pts) => Math.abs(pts.reduce((sum, p, i) => { const q = pts[(i + 1) % pts.length]; return sum + p[0] * q[1] - q[0] * p[1]; }, 0)) / 2;
function foot(p, a, b) {
  const t = ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / (gap(a, b) ** 2 || 1);
  return t < 0 || t > 1 ? null : [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
}
function inside(p, pts) {
  let is = false;
  pts.forEach((a, i) => { const b = pts[(i + 1) % pts.length];
    if ((a[1] > p[1]) !== (b[1] > p[1]) && p[0] < a[0] + ((p[1] - a[1]) * (b[0] - a[0])) / (b[1] - a[1])) is = !is; });
  return is;
}
export default {
  template: `
    <div class="sm-ground" @keydown="key">
      <div class="sm-bar">
        <button class="sm-button sm-small" :class="{on: mode === 'zone'}" @click="begin('zone')">New zone</button>
        <button class="sm-button sm-plain sm-small" :class="{on: mode === 'outline'}" @click="begin('outline')">{{ work.outline.length ? 'Redraw the lawn’s outline' : 'Draw the lawn’s outline' }}</button>
        <button class="sm-button sm-plain sm-small" :disabled="!past.length && !draft.length" @click="undo">Undo</button>
        <button v-if="mode" class="sm-button sm-small" :disabled="draft.length < 3" @click="finish">Close the shape</button>
        <span class="sm-zoom"><button class="sm-button sm-plain sm-small" aria-label="Closer" :disabled="zoom >= 6" @click="step(1.6)">+</button><button class="sm-button sm-plain sm-small" aria-label="Wider" :disabled="zoom <= 1" @click="step(1 / 1.6)">−</button></span>
      </div>
      <p class="sm-quiet sm-hint">{{ hint }}</p>
      <svg ref="svg" class="sm-sheet" :class="{drawing: mode, near: zoom > 1}" :viewBox="box" @pointerdown="down" @pointermove="hover" role="img" aria-label="The ground seen straight down">
        <image v-if="picture" :href="picture" :x="frame.left" :y="-frame.top" :width="frame.right - frame.left" :height="frame.top - frame.bottom" preserveAspectRatio="none" />
        <polygon v-if="work.outline.length" :points="path(work.outline)" class="sm-lawn" />
        <polygon :points="path(square)" class="sm-square" />
        <g v-for="(zone, i) in work.zones" :key="i" class="sm-zone" :class="{chosen: i === at}">
          <polygon :points="path(zone.outline_m)" class="under" /><polygon :points="path(zone.outline_m)" class="edge" :data-zone="zone.name" />
        </g>
        <g v-for="(zone, i) in work.zones" :key="'n' + i" class="sm-zone" :class="{chosen: i === at}"><text :x="middle(zone.outline_m)[0]" :y="-middle(zone.outline_m)[1]" :font-size="14 / px">{{ short(zone.name) }}</text></g>
        <template v-if="!mode && shape">
          <circle v-for="(c, i) in shape" :key="'m' + i" :cx="half(i)[0]" :cy="-half(i)[1]" :r="5 / px" class="sm-mid" @pointerdown.stop.prevent="split($event, i)" />
          <g v-for="(c, i) in shape" :key="'c' + i" class="sm-handle" :data-handle="i" @pointerdown.stop.prevent="grab($event, i)">
            <circle :cx="c[0]" :cy="-c[1]" :r="20 / px" class="reach" /><circle :cx="c[0]" :cy="-c[1]" :r="8 / px" class="ring" :class="{chosen: i === corner}" /></g>
        </template>
        <template v-if="mode">
          <polyline :points="path(draft.concat(ghost ? [ghost] : []))" class="sm-draft" />
          <circle v-for="(c, i) in draft" :key="'d' + i" :cx="c[0]" :cy="-c[1]" :r="(i ? 5 : 9) / px" class="sm-draftdot" />
        </template>
        <g class="sm-scale" :transform="'translate(' + (view.left + 12 / px) + ' ' + (-view.bottom - 14 / px) + ')'"><path :d="'M0 0H1'" /><text :x="0" :y="-6 / px" :font-size="12 / px">1 m</text></g>
      </svg>
      <p v-if="mode && draft.length > 2" class="sm-quiet">So far {{ size(draft) }}</p>
      <ul class="sm-zones">
        <li v-for="(zone, i) in work.zones" :key="i" :class="{chosen: i === at}" @click="choose(i)">
          <input :value="typed.at === i ? typed.name : zone.name" maxlength="200" :aria-label="'Name of zone ' + (i + 1)" @focus="choose(i)" @input="typed = { at: i, name: $event.target.value }" @change="rename(i, $event.target.value)" @blur="typed = { at: -1, name: '' }" />
          <span class="sm-number">{{ size(zone.outline_m) }}</span>
          <button class="sm-button sm-plain sm-small" @click.stop="remove(i)">Delete</button>
        </li>
        <li v-if="work.outline.length" :class="{chosen: at === -2}" @click="choose(-2)"><span class="sm-lawn-name">The whole lawn’s outline</span><span class="sm-number">{{ size(work.outline) }}</span>
          <button class="sm-button sm-plain sm-small" @click.stop="removeOutline">Delete</button></li>
      </ul>
      <button v-if="shape && corner >= 0 && shape.length > 3 && !mode" class="sm-button sm-plain sm-small" @click="dropCorner">Remove this corner</button>
      <div v-if="other" class="sm-warn" role="alert" data-role="conflict">
        <p><strong>{{ other.message }}</strong></p><p>It now says: {{ describe(other) }}. What you drew is still here, not saved yet.</p>
        <button class="sm-button sm-small" @click="keepMine">Keep mine, then save</button>
        <button class="sm-button sm-plain sm-small" @click="takeTheirs">Show what was saved</button>
      </div>
      <p v-if="fault" class="sm-bad" role="alert">{{ fault }}</p>
      <div class="sm-bar"><button class="sm-button" :disabled="!dirty || !!other" @click="save">Save zones</button><span class="sm-quiet" aria-live="polite">{{ dirty ? 'not saved yet' : saidSaved }}</span></div>
    </div>`,
  props: { picture: String, frame: Object, side: Number, zones: Array, outline: Array, revision: String, us: Boolean, fault: String, conflict: Object },
  data() {
    return { work: copy({ zones: this.zones, outline: this.outline }), seen: this.revision, base: JSON.stringify([this.zones, this.outline]), past: [], typed: { at: -1, name: "" }, at: -1, corner: -1, mode: "", draft: [], ghost: null, wide: 330, zoom: 1, eye: null, dirty: false, other: null, saidSaved: "", sent: false };
  },
  computed: {
    view() {
      const f = this.frame, w = (f.right - f.left) / this.zoom, h = (f.top - f.bottom) / this.zoom, [x, y] = this.eye || [this.side / 2, this.side / 2];
      const left = Math.min(f.right - w, Math.max(f.left, x - w / 2)), bottom = Math.min(f.top - h, Math.max(f.bottom, y - h / 2));
      return { left, bottom, wide: w, tall: h };
    },
    box() { const v = this.view; return `${v.left} ${-v.bottom - v.tall} ${v.wide} ${v.tall}`; },
    px() { return this.wide / this.view.wide; },
    square() { const s = this.side; return [[0, 0], [s, 0], [s, s], [0, s]]; },
    shape() { return this.at === -2 ? this.work.outline : this.at >= 0 && this.work.zones[this.at] ? this.work.zones[this.at].outline_m : null; },
    hint() {
      if (this.mode) return this.draft.length < 3 ? "Tap its corners one by one." : "Tap the first corner again, or press “Close the shape”.";
      return this.shape ? "Drag a corner; drag a small dot to add one." : "Tap a zone to change it. The white square is your reference square.";
    },
  },
  watch: {
    revision(now) {
      if (now === this.seen) return;
      if (!this.sent && JSON.stringify([this.zones, this.outline]) === this.base) { this.seen = now; return; }
      if (this.sent || !this.dirty) { if (this.sent) this.saidSaved = "saved"; this.adopt(this.zones, this.outline, now); }
      else this.other = { message: "Someone else has saved zones in the meantime.", zones: this.zones, outline: this.outline, revision: now };
    },
    conflict(now) { if (now) { this.sent = false; this.other = now; } },
    fault(now) { if (now) this.sent = false; },
  },
  mounted() {
    this.watcher = new ResizeObserver(() => { const wide = this.$refs.svg && this.$refs.svg.clientWidth; if (wide) this.wide = wide; });
    this.watcher.observe(this.$refs.svg);
  },
  beforeUnmount() { this.watcher.disconnect(); },
  methods: {
    path(pts) { return pts.map((p) => `${p[0]},${-p[1]}`).join(" "); },
    middle(pts) { return [0, 1].map((k) => pts.reduce((sum, p) => sum + p[k], 0) / pts.length); },
    half(i) { const a = this.shape[i], b = this.shape[(i + 1) % this.shape.length]; return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]; },
    size(pts) { return this.us ? (area(pts) * 10.7639).toFixed(1) + " sq ft" : area(pts).toFixed(2) + " m²"; },
    short(name) { return name.length > 18 ? name.slice(0, 17) + "…" : name; },
    describe(one) { return one.zones.length ? one.zones.map((z) => `${this.short(z.name)} (${this.size(z.outline_m)})`).join(", ") : "no zones"; },
    remember() { this.past.push(copy(this.work)); if (this.past.length > 100) this.past.shift(); this.dirty = true; this.saidSaved = ""; },
    place(event) {
      const matrix = this.$refs.svg.getScreenCTM().inverse(), p = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
      return [p.x, -p.y];
    },
    snap(p, own = null) {
      const others = this.work.zones.map((z) => z.outline_m).concat([this.work.outline, this.square]).filter((pts) => pts !== own && pts.length);
      let best = null, reach = 14 / this.px;
      for (const c of others.flat()) if (gap(c, p) < reach) { best = c; reach = gap(c, p); }
      if (!best) { reach = 9 / this.px;
        for (const pts of others) pts.forEach((a, i) => { const f = foot(p, a, pts[(i + 1) % pts.length]); if (f && gap(f, p) < reach) { best = f; reach = gap(f, p); } }); }
      const grid = this.us ? 0.0508 : 0.05;
      return (best || p.map((v) => Math.round(v / grid) * grid)).map((v) => Math.round(v * 1000) / 1000);
    },
    begin(mode) { Object.assign(this, { mode: this.mode === mode ? "" : mode, draft: [], ghost: null, at: -1, corner: -1 }); },
    down(event) {
      const p = this.place(event);
      if (!this.mode) { this.choose(this.work.zones.findLastIndex((z) => inside(p, z.outline_m))); this.pan(event); return; }
      if (this.draft.length > 2 && gap(p, this.draft[0]) < 18 / this.px) this.finish();
      else this.draft.push(this.snap(p));
    },
    hover(event) { if (this.mode && event.pointerType === "mouse") this.ghost = this.snap(this.place(event)); },
    finish() {
      this.remember();
      if (this.mode === "outline") { this.work.outline = this.draft; this.at = -2; }
      else { this.work.zones.push({ name: this.freeName(), was: "", outline_m: this.draft }); this.at = this.work.zones.length - 1; }
      Object.assign(this, { mode: "", draft: [], ghost: null, corner: -1 });
    },
    freeName() { let n = this.work.zones.length + 1; while (this.work.zones.some((z) => z.name === `zone ${n}`)) n += 1; return `zone ${n}`; },
    choose(i) { if (i !== this.at) { this.at = i; this.corner = -1; } },
    step(times) {
      this.eye = this.shape ? this.middle(this.shape) : this.eye;
      this.zoom = Math.min(6, Math.max(1, this.zoom * times));
    },
    pan(event) {
      if (this.zoom <= 1) return;
      const v = this.view, start = [v.left + v.wide / 2, v.bottom + v.tall / 2], x0 = event.clientX, y0 = event.clientY;
      this.follow(event, (e) => { this.eye = [start[0] - (e.clientX - x0) / this.px, start[1] + (e.clientY - y0) / this.px]; });
    },
    drag(event, i) {
      this.corner = i;
      const shape = this.shape;
      this.follow(event, (e) => shape.splice(i, 1, this.snap(this.place(e), shape)));
    },
    follow(event, move) {
      const svg = this.$refs.svg;
      const end = () => { svg.removeEventListener("pointermove", move); for (const kind of ["pointerup", "pointercancel"]) svg.removeEventListener(kind, end); };
      svg.setPointerCapture(event.pointerId);
      svg.addEventListener("pointermove", move);
      for (const kind of ["pointerup", "pointercancel"]) svg.addEventListener(kind, end);
    },
    grab(event, i) { this.remember(); this.drag(event, i); },
    split(event, i) { this.remember(); this.shape.splice(i + 1, 0, this.half(i)); this.drag(event, i + 1); },
    dropCorner() { this.remember(); this.shape.splice(this.corner, 1); this.corner = -1; },
    rename(i, name) { const clean = name.trim(); if (clean && clean !== this.work.zones[i].name) { this.remember(); this.work.zones[i].name = clean; } },
    remove(i) { this.remember(); this.work.zones.splice(i, 1); this.at = -1; },
    removeOutline() { this.remember(); this.work.outline = []; this.at = -1; },
    undo() { if (this.draft.length) { this.draft.pop(); return; } if (this.past.length) { this.work = this.past.pop(); Object.assign(this, { at: -1, corner: -1, dirty: true }); } },
    key(event) { if (event.key === "z" && (event.ctrlKey || event.metaKey) && event.target.tagName !== "INPUT") { event.preventDefault(); this.undo(); } if (event.key === "Escape") this.begin(""); },
    save() { this.sent = true; this.$emit("ground", { zones: this.work.zones, outline: this.work.outline, revision: this.seen }); },
    adopt(zones, outline, revision) { Object.assign(this, { work: copy({ zones, outline }), seen: revision, base: JSON.stringify([zones, outline]), past: [], at: -1, corner: -1, mode: "", draft: [], dirty: false, other: null, sent: false }); },
    takeTheirs() { this.adopt(this.other.zones, this.other.outline, this.other.revision); this.saidSaved = "as it was saved"; },
    keepMine() {
      const names = new Set(this.other.zones.map((z) => z.name));
      for (const zone of this.work.zones) zone.was = names.has(zone.was) ? zone.was : names.has(zone.name) ? zone.name : "";
      Object.assign(this, { seen: this.other.revision, base: JSON.stringify([this.other.zones, this.other.outline]), other: null, dirty: true });
    },
  },
};
