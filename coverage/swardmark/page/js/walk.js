// Five photos on an arc: the square from above with the places that are had, the next one and those to come; and the camera.
import { send } from "/js/waiting.js";

const REACH = 1.6, rad = (d) => d * Math.PI / 180;
const two = (n) => String(n).padStart(2, "0");
const local = (ms) => { const d = new Date(ms); return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}T${two(d.getHours())}:${two(d.getMinutes())}:${two(d.getSeconds())}`; };
export default {
  template: `
    <div class="sm-walk">
      <label v-if="points.length > 1" class="sm-field"><span class="sm-label">{{ words.point }}</span><select :value="point" @change="$emit('point', $event.target.value)"><option v-for="p in points" :key="p" :value="p">{{ p }}</option></select></label>
      <p role="status" class="sm-walk-said">{{ held && !sending ? words.held + " " : "" }}{{ late && !sending ? words.late + " " : "" }}{{ sending || now.text }}</p>
      <p v-for="line in refused" :key="line" class="sm-bad" role="alert">{{ line }}</p>
      <div class="sm-walk-drawn">
        <svg :viewBox="box" class="sm-walk-plan" role="img" :aria-label="words.plan">
          <path v-if="next !== null" :d="sector" class="view" /><path :d="arc" class="arc" />
          <rect x="-0.5" y="-0.5" width="1" height="1" class="square" />
          <g v-for="(m, n) in marks" :key="n"><rect :x="m[0] * 0.42 - 0.08" :y="m[1] * 0.42 - 0.08" width="0.16" height="0.16" class="mark" /><text :x="m[0] * 0.64" :y="m[1] * 0.64 + 0.06">{{ n }}</text></g>
          <circle v-for="d in later" :key="'l' + d" :cx="x(d)" :cy="y(d)" r="0.13" class="later" />
          <g v-for="d in now.had" :key="'h' + d"><circle :cx="x(d)" :cy="y(d)" r="0.15" class="had" /><path :d="tick(d)" class="tick" /></g>
          <g v-if="next !== null" class="next" :transform="'translate(' + x(next) + ' ' + y(next) + ') rotate(' + (-next) + ')'"><circle r="0.2" class="ring" /><path d="M-0.11 0.07 a0.11 0.07 0 0 1 0.22 0 Z" /><circle cy="-0.03" r="0.07" /><rect x="-0.035" y="-0.17" width="0.07" height="0.04" /></g>
        </svg>
        <figure v-if="!now.had.length"><svg viewBox="-0.35 -1.9 2.9 2.05" class="sm-walk-side" role="img" :aria-label="words.side">
          <path d="M0 -1.55 L1.1 0 M0 -1.55 L2.1 0" class="arc" /><path d="M0 -1.55 L1.1 0 L2.1 0 Z" class="view" />
          <path d="M-0.35 0.03 H2.55" class="ground" /><path d="M1.1 -0.02 h0.16 M1.94 -0.02 h0.16" class="board" /><path d="M1.26 0 h0.68" class="sand" />
          <circle cx="-0.1" cy="-1.62" r="0.12" class="body" /><path d="M-0.12 -1.46 L-0.12 -0.75 M-0.12 -0.75 L-0.24 0 M-0.12 -0.75 L0 0 M-0.12 -1.36 L0.02 -1.3 L0.02 -1.5" class="limbs" /><rect x="-0.005" y="-1.62" width="0.05" height="0.15" class="mark" />
        </svg><figcaption class="sm-hint-text">{{ words.side }}</figcaption></figure>
      </div>
      <div class="sm-acts">
        <label v-if="next !== null" class="sm-button"><span>{{ now.had.length ? words.take : words.first }}</span><input type="file" accept="image/*" capture="environment" class="sm-file" data-role="walk-take" :disabled="!!sending || busy" @change="picked($event, true)" /></label>
        <button v-if="now.can_measure" type="button" class="sm-button" :class="{'sm-plain': next !== null}" :disabled="busy || !!sending" @click="$emit('measure')">{{ busy ? words.measuring : words.measure }}</button>
        <label class="sm-button sm-plain sm-small"><span>{{ words.choose }}</span><input type="file" multiple accept="image/*,.heic,.heif" class="sm-file" data-role="walk-choose" :disabled="!!sending || busy" @change="picked($event, false)" /></label>
        <button v-if="now.had.length && !busy" type="button" class="sm-button sm-plain sm-small" :disabled="!!sending" @click="over" @blur="sure = false">{{ sure ? words.sure : words.over }}</button>
      </div>
    </div>`,
  props: { walk: Object, points: Array, point: String, busy: Boolean, wanted: Number, words: Object },
  data() { return { now: this.walk, sending: "", refused: [], late: false, held: false, sure: false, marks: [[-1, 1], [1, 1], [1, -1], [-1, -1]] }; },
  watch: { walk(now) { this.now = now; this.held = false; if (!now.had.length) this.late = false; } },
  computed: {
    next() { return this.now.coming.length ? this.now.coming[0] : null; },
    later() { return this.now.coming.slice(1); },
    all() { return [...this.now.had, ...this.now.coming]; },
    box() {
      const xs = [-0.85, 0.85, ...this.all.map(this.x)], ys = [-0.62, 0.62, ...this.all.map(this.y)], m = 0.22;
      const left = Math.min(...xs) - m, top = Math.min(...ys) - m;
      return `${left} ${top} ${Math.max(...xs) + m - left} ${Math.max(...ys) + m - top}`;
    },
    arc() {
      const turns = this.all.map((d) => this.now.had.length ? this.near(d, this.now.had[0]) : d).sort((a, b) => a - b);
      const from = turns[0], to = turns[turns.length - 1];
      return `M${this.x(from)} ${this.y(from)} A${REACH} ${REACH} 0 ${to - from > 180 ? 1 : 0} 0 ${this.x(to)} ${this.y(to)}`;
    },
    sector() { const d = this.next; return `M${this.x(d)} ${this.y(d)} L${this.spot(d, -24)} L${this.spot(d, 24)} Z`; },
  },
  methods: {
    x(d) { return REACH * Math.sin(rad(d)); },
    y(d) { return REACH * Math.cos(rad(d)); },
    near(d, to) { return to + ((d - to + 540) % 360) - 180; },
    spot(d, turn) { const a = rad(d + turn), far = 2; return `${this.x(d) - far * Math.sin(a)} ${this.y(d) - far * Math.cos(a)}`; },
    tick(d) { return `M${this.x(d) - 0.07} ${this.y(d)} l0.05 0.055 l0.09 -0.11`; },
    over() { if (this.sure) { this.sure = false; this.refused = []; this.late = this.held = false; this.$emit("over"); } else this.sure = true; },
    async picked(event, taken) {
      const files = [...event.target.files];
      event.target.value = "";
      Object.assign(this, { refused: [], late: false, sure: false });
      for (const [n, file] of files.entries()) {
        this.sending = this.words.sending.replace("{count}", n + 1).replace("{all}", files.length);
        const said = await new Promise((answered) => send({ walk: true, file, name: file.name, point: this.point, taken: taken ? local(file.lastModified) : "", answered }));
        if (said.state === "added") { this.now = said.walk; this.late = this.late || said.late; }
        else if (said.state === "lost") this.held = true;
        else this.refused = [...this.refused, said.say];
      }
      this.sending = "";
    },
  },
};
