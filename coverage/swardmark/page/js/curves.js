// Cover over days since the leveling: photos as marks, the forecast as a line in its 80 % band, values under the finger.
export default {
  template: `
    <div class="sm-curves" ref="box">
      <svg :viewBox="'0 0 ' + wide + ' ' + tall" :style="{height: tall + 'px'}" @pointermove="look" @pointerdown="look" @pointerleave="day = null" role="img" :aria-label="label">
        <g class="axis">
          <template v-for="p in [0, 25, 50, 75, 100]" :key="p"><line :x1="left" :x2="wide - 6" :y1="y(p)" :y2="y(p)" /><text :x="left - 5" :y="y(p) + 4" text-anchor="end">{{ p }}</text></template>
          <text v-for="d in ticks" :key="d" :x="x(d)" :y="tall - 6" text-anchor="middle">{{ d }}</text>
        </g>
        <g class="gate"><line :x1="left" :x2="wide - 6" :y1="y(mow)" :y2="y(mow)" /><text :x="left + 4" :y="y(mow) - 4">cover for the first mow</text></g>
        <g class="diary"><template v-for="(m, i) in marks" :key="i"><line :x1="x(m.day)" :x2="x(m.day)" :y1="y(0)" :y2="y(0) - 9" /></template></g>
        <g v-for="line in visible" :key="line.name">
          <path v-if="line.band" :d="band(line)" :fill="line.color" opacity="0.14" />
          <path v-if="line.band" :d="trace(line)" fill="none" :stroke="line.color" stroke-width="2" :stroke-dasharray="line.dash" />
          <template v-for="(d, i) in line.day" :key="i"><circle v-if="line.pct[i] !== null" :cx="x(d)" :cy="y(line.pct[i])" r="3.5" :fill="line.held[i] ? '#FFFEFA' : line.color" :stroke="line.color" stroke-width="1.5" /></template>
        </g>
        <line v-if="day !== null" :x1="x(day)" :x2="x(day)" :y1="10" :y2="y(0)" class="cursor" />
      </svg>
      <p class="sm-quiet sm-axisname">percent cover, by days since {{ zero }}</p>
      <div class="sm-legend"><button v-for="line in lines" :key="line.name" :class="{off: hidden.includes(line.name)}" :aria-pressed="!hidden.includes(line.name)" @click="toggle(line.name)">
        <svg width="26" height="10" aria-hidden="true"><line x1="0" x2="26" y1="5" y2="5" :stroke="line.color" stroke-width="3" :stroke-dasharray="line.dash" /></svg>{{ line.name }}</button></div>
      <div class="sm-values" v-if="day !== null" data-role="values"><strong>day {{ day }}<template v-if="dateOf(day)">, {{ dateOf(day) }}</template></strong>
        <span v-for="line in visible" :key="line.name">{{ line.name }}: {{ value(line) }}</span>
        <em v-for="m in marks.filter((m) => m.day === day)" :key="m.what">{{ m.what }}</em></div>
      <p v-else class="sm-values sm-quiet">Point at a day to read its values.</p>
    </div>`,
  props: { lines: Array, mow: Number, marks: Array, zero: String, zero_iso: String, date_form: String, label: String },
  data() { return { wide: 340, tall: 260, left: 30, day: null, hidden: [] }; },
  computed: {
    visible() { return this.lines.filter((line) => !this.hidden.includes(line.name)); },
    span() {
      const days = this.lines.flatMap((line) => [...line.day, ...(line.band ? line.band.day : [])]);
      return [Math.min(0, ...days), Math.max(7, ...days)];
    },
    ticks() { const step = this.span[1] - this.span[0] > 42 ? 14 : 7, out = []; for (let d = Math.ceil(this.span[0] / step) * step; d <= this.span[1]; d += step) out.push(d); return out; },
  },
  mounted() {
    this.watcher = new ResizeObserver(() => { const wide = this.$refs.box && this.$refs.box.clientWidth; if (wide) Object.assign(this, { wide, tall: wide > 600 ? 340 : 260 }); });
    this.watcher.observe(this.$refs.box);
  },
  beforeUnmount() { this.watcher.disconnect(); },
  methods: {
    x(d) { return this.left + ((d - this.span[0]) / (this.span[1] - this.span[0])) * (this.wide - this.left - 10); },
    y(p) { return 12 + (1 - p / 100) * (this.tall - 38); },
    trace(line) { return "M" + line.band.day.map((d, i) => `${this.x(d).toFixed(1)} ${this.y(line.band.median[i]).toFixed(1)}`).join("L"); },
    band(line) {
      const up = line.band.day.map((d, i) => `${this.x(d).toFixed(1)} ${this.y(line.band.high80[i]).toFixed(1)}`);
      const low = line.band.day.map((d, i) => `${this.x(d).toFixed(1)} ${this.y(line.band.low80[i]).toFixed(1)}`).reverse();
      return `M${up.concat(low).join("L")}Z`;
    },
    look(event) {
      const box = event.currentTarget.getBoundingClientRect(), part = (event.clientX - box.left - this.left) / (this.wide - this.left - 10);
      this.day = Math.round(Math.min(1, Math.max(0, part)) * (this.span[1] - this.span[0]) + this.span[0]);
    },
    value(line) {
      const seen = line.day.findIndex((d) => Math.round(d) === this.day);
      if (seen >= 0 && line.pct[seen] !== null) return `${line.pct[seen].toFixed(0)} % in the photo`;
      if (!line.band) return "not measured";
      const i = line.band.day.findIndex((d) => Math.round(d) === this.day);
      return i < 0 ? "no forecast" : `${line.band.median[i].toFixed(0)} % (${line.band.low80[i].toFixed(0)} to ${line.band.high80[i].toFixed(0)})`;
    },
    dateOf(day) {
      const d = new Date(this.zero_iso + "T12:00Z");
      d.setUTCDate(d.getUTCDate() + day);
      if (isNaN(d)) return "";
      if (this.date_form === "iso") return d.toISOString().slice(0, 10);
      const tongue = this.date_form === "month day" ? "en-US" : "en-GB";
      return d.toLocaleDateString(tongue, { day: "numeric", month: "short", timeZone: "UTC" });
    },
    toggle(name) { this.hidden = this.hidden.includes(name) ? this.hidden.filter((n) => n !== name) : [...this.hidden, name]; },
  },
};
