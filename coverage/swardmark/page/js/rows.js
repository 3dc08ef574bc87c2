// The photos as rows, each with the square drawn over it, and the board on which its four corners are put right.
const WORDS = ["near left", "near right", "far right", "far left"];
export default {
  template: `
    <div>
      <ul class="sm-photos">
        <li v-for="row in listed" :key="row.where + row.name" :class="'sm-photo ' + row.state">
          <button type="button" class="sm-thumb" @click="show(row, $event)" :aria-label="row.label">
            <img :src="row.thumb" alt="" loading="lazy" />
            <svg v-if="row.corners" viewBox="0 0 1 1" preserveAspectRatio="none" aria-hidden="true">
              <polygon :points="row.corners.map((c) => c.join(',')).join(' ')" class="under" /><polygon :points="row.corners.map((c) => c.join(',')).join(' ')" /></svg>
            <span v-if="row.sign" class="sm-sign" aria-hidden="true">{{ row.sign }}</span></button>
          <p><strong>{{ row.day || row.short }}</strong></p>
          <p class="sm-quiet" v-if="row.state !== 'refused'">{{ row.cover || row.said }}</p><p class="sm-bad" v-else>{{ row.said }}</p>
        </li>
      </ul>
      <button v-if="rows.length > few && !all" class="sm-button sm-plain" @click="all = true">Show all {{ rows.length }} photos</button>
      <div v-if="row && !board" class="sm-large" role="dialog" aria-modal="true" :aria-label="row.label" @keydown="turn">
        <div class="sm-large-inner">
          <div class="sm-large-head"><button class="sm-button sm-plain" @click="step(1)" :disabled="at0 + 1 >= rows.length" aria-label="Earlier photo">‹</button>
            <h3>{{ row.date || row.short }}</h3>
            <button class="sm-button sm-plain" @click="step(-1)" :disabled="at0 < 1" aria-label="Later photo">›</button>
            <button class="sm-button sm-plain" @click="hide" ref="close">Close</button></div>
          <div class="sm-large-photo"><img :src="row.view" :alt="row.label" />
            <svg v-if="row.corners" viewBox="0 0 1 1" preserveAspectRatio="none" aria-hidden="true">
              <polygon :points="row.corners.map((c) => c.join(',')).join(' ')" class="under" /><polygon :points="row.corners.map((c) => c.join(',')).join(' ')" /></svg></div>
          <p v-if="row.cover"><strong>{{ row.cover }}</strong></p>
          <p v-if="row.state === 'measured'" class="sm-good">{{ row.found }}</p>
          <p v-if="row.state === 'refused'" class="sm-bad"><strong>Not used:</strong> {{ row.reason }} {{ row.remedy }}</p>
          <p v-if="row.state === 'waiting'" class="sm-quiet">Waiting to be measured.</p>
          <p v-if="row.state === 'left'" class="sm-quiet">Left out of the measuring.</p>
          <p v-if="row.state === 'binned'" class="sm-quiet">In the bin.</p>
          <p v-for="note in row.notes" :key="note" class="sm-note">{{ note }}</p>
          <p class="sm-quiet">{{ row.name }}<template v-if="row.from"> · day {{ row.from }}</template></p>
          <div class="sm-acts">
            <button v-if="row.size && !row.where" class="sm-button sm-plain" @click="open(row)">{{ row.corners ? 'Correct the corners' : 'Mark the corners' }}</button>
            <button v-if="!row.where" class="sm-button sm-plain" @click="act('left_out')">Leave it out</button>
            <button v-if="row.where" class="sm-button sm-plain" @click="act('back')">Put it back</button>
            <button v-if="!row.where" class="sm-button sm-plain" @click="act('bin')">Move to the bin</button>
          </div>
          <form v-if="!row.where" class="sm-day" @submit.prevent="$emit('day', { name: row.name, day })"><label>Taken on <input type="date" v-model="day" required /></label><button class="sm-button sm-small">Change the day</button></form>
        </div>
      </div>
      <div v-if="board" class="sm-board" role="dialog" aria-modal="true" aria-label="Correct the corners" @keydown.esc="board = null">
        <div class="sm-board-inner">
          <p class="sm-board-say">Drag each ring onto the <strong>outer black corner</strong> of its mark, or onto the frame's corner. Arrow keys and the arrows below move it one pixel.</p>
          <div class="sm-stage" ref="stage">
            <img :src="board.view" alt="The photo" draggable="false" @load="measure" />
            <svg v-if="wide" :viewBox="'0 0 ' + wide + ' ' + tall">
              <polygon :points="points" class="under" /><polygon :points="points" />
              <g v-for="(c, i) in corners" :key="i" class="sm-corner" :class="{chosen: i === at}" tabindex="0" role="slider"
                 :aria-label="words[i] + ' corner'" :aria-valuetext="c.map((v) => v.toFixed(0)).join(', ')" :data-corner="i"
                 @pointerdown.prevent="grab($event, i)" @keydown="key($event, i)" @focus="at = i">
                <circle :cx="shown[i][0]" :cy="shown[i][1]" r="22" class="reach" />
                <circle :cx="shown[i][0]" :cy="shown[i][1]" r="9" class="ring" /><circle :cx="shown[i][0]" :cy="shown[i][1]" r="1.5" class="dot" />
                <text :x="shown[i][0]" :y="shown[i][1] - 14">{{ i }}</text></g></svg>
            <div v-if="wide" class="sm-glass" :class="side" :style="glass" aria-hidden="true"><i></i><b></b></div>
          </div>
          <div class="sm-board-row">
            <span class="sm-quiet">Corner {{ at }}, {{ words[at] }}</span>
            <span class="sm-nudge"><button v-for="n in nudges" :key="n[2]" class="sm-button sm-plain sm-small" :aria-label="n[3]" @click="nudge(at, n[0], n[1])">{{ n[2] }}</button></span>
            <button class="sm-button" @click="save">Keep these corners</button>
            <button class="sm-button sm-plain" @click="board = null">Cancel</button>
          </div>
        </div>
      </div>
    </div>`,
  props: { rows: Array },
  data() {
    return {
      board: null, row: null, day: '', from: null, corners: [], at: 0, wide: 0, tall: 0, all: false, few: 12, words: WORDS, held: null,
      nudges: [[-1, 0, "←", "left"], [0, -1, "↑", "up"], [0, 1, "↓", "down"], [1, 0, "→", "right"]],
    };
  },
  computed: {
    listed() { return this.all ? this.rows : this.rows.slice(0, this.few); },
    at0() { return this.rows.findIndex((one) => one.name === this.row.name && one.where === this.row.where); },
    scale() { return this.wide / this.board.size[0]; },
    shown() { return this.corners.map((c) => c.map((v) => (v + 0.5) * this.scale)); }, // an integer is a pixel's center
    points() { return this.shown.map((c) => c.join(",")).join(" "); },
    side() { return this.shown[this.at][0] < this.wide / 2 ? "right" : "left"; },
    glass() {
      const zoom = Math.max(2, 3000 / this.wide), [x, y] = this.shown[this.at].map((v) => v * zoom);
      return {
        backgroundImage: `url("${this.board.view}")`, backgroundSize: `${this.wide * zoom}px ${this.tall * zoom}px`,
        backgroundPosition: `${70 - x}px ${70 - y}px`,
      };
    },
  },
  mounted() { window.addEventListener("resize", this.measure); },
  beforeUnmount() { window.removeEventListener("resize", this.measure); },
  watch: { rows(now) { if (this.row) { const same = now.find((one) => one.name === this.row.name && one.where === this.row.where); if (same) this.row = same; else this.hide(); } } },
  methods: {
    show(row, event) { Object.assign(this, { row, day: row.iso, from: event ? event.currentTarget : this.from }); this.$nextTick(() => event && this.$refs.close.focus()); },
    hide() { this.row = null; if (this.from) this.from.focus(); },
    step(n) { const next = this.rows[this.at0 + n]; if (next) this.show(next); },
    turn(event) { const keys = { ArrowLeft: 1, ArrowRight: -1 }; if (event.key === "Escape") this.hide(); else if (event.target.tagName !== "INPUT" && keys[event.key]) this.step(keys[event.key]); },
    act(what) { this.$emit("aside", { name: this.row.name, where: this.row.where, what }); this.hide(); },
    open(row) {
      const [w, h] = row.size, start = [[0.35, 0.7], [0.65, 0.7], [0.6, 0.45], [0.4, 0.45]];
      this.corners = (row.corners || start).map(([x, y]) => [x * w - (row.corners ? 0.5 : 0), y * h - (row.corners ? 0.5 : 0)]);
      Object.assign(this, { board: row, at: 0, wide: 0 });
    },
    measure() {
      const image = this.$refs.stage && this.$refs.stage.querySelector("img");
      if (image) Object.assign(this, { wide: image.clientWidth, tall: image.clientHeight });
    },
    grab(event, i) {
      this.at = i;
      const gear = event.pointerType === "touch" ? 0.4 : 1, start = [...this.corners[i]], x0 = event.clientX, y0 = event.clientY;
      const target = event.currentTarget;
      target.setPointerCapture(event.pointerId);
      const move = (e) => this.put(i, start[0] + ((e.clientX - x0) * gear) / this.scale, start[1] + ((e.clientY - y0) * gear) / this.scale);
      const end = () => { for (const kind of ["pointerup", "pointercancel"]) target.removeEventListener(kind, end); target.removeEventListener("pointermove", move); };
      target.addEventListener("pointermove", move);
      for (const kind of ["pointerup", "pointercancel"]) target.addEventListener(kind, end);
      target.focus({ preventScroll: true });
    },
    key(event, i) {
      const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (step) { event.preventDefault(); this.nudge(i, ...step); }
    },
    nudge(i, dx, dy) { this.put(i, this.corners[i][0] + dx, this.corners[i][1] + dy); },
    put(i, x, y) {
      const [w, h] = this.board.size;
      this.corners.splice(i, 1, [Math.min(w - 1, Math.max(0, x)), Math.min(h - 1, Math.max(0, y))]);
    },
    save() {
      this.$emit("corners", { name: this.board.name, corners: this.corners.map((c) => c.map((v) => Math.round(v * 100) / 100)) });
      this.board = null;
    },
  },
};
