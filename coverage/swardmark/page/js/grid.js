// Heights below a string: the places of a grid one after the other, one large number at a time.
import { newNote, send, today } from "/js/waiting.js";

export default {
  template: `
    <div class="sm-grid">
      <svg :viewBox="box" class="sm-grid-plan" role="img" :aria-label="words.plan"><circle v-for="p in places" :key="p.number" :cx="p.x" :cy="-p.y" :r="r" :class="{kept: kept[p.number] !== undefined, now: p.number === places[at].number}" /></svg>
      <form @submit.prevent="keep"><label class="sm-field"><span class="sm-label">{{ places[at].label }}</span>
        <input ref="field" class="sm-large-number" type="number" step="any" inputmode="decimal" v-model="value" required :aria-describedby="'sm-grid-unit'" /><span id="sm-grid-unit" class="sm-hint-text">{{ words.unit }}</span></label>
        <div class="sm-acts"><button class="sm-button">{{ words.keep }}</button>
          <button type="button" class="sm-button sm-plain" @click="move(1)" :disabled="at + 1 >= places.length">{{ words.skip }}</button>
          <button type="button" class="sm-button sm-plain" @click="move(-1)" :disabled="!at">{{ words.back }}</button>
          <button type="button" class="sm-button sm-plain" @click="undo" :disabled="!typed.length">{{ words.undo }}</button></div></form>
      <p class="sm-quiet" aria-live="polite">{{ done }} / {{ places.length }}. {{ done < least ? words.more : "" }}</p>
      <button v-if="done" type="button" class="sm-button" @click="$emit('finish')">{{ words.finish }}</button>
    </div>`,
  props: { places: Array, first: Object, least: Number, drop: String, how: String, point: String, words: Object },
  data() { return { at: 0, value: "", kept: { ...this.first }, typed: [] }; },
  computed: {
    done() { return Object.keys(this.kept).length; },
    r() { const p = this.places; return Math.max(0.06, (p[p.length - 1].x - p[0].x) / 60); },
    box() { const p = this.places, last = p[p.length - 1], m = 3 * this.r; return `${p[0].x - m} ${-last.y - m} ${last.x - p[0].x + 2 * m} ${last.y - p[0].y + 2 * m}`; },
  },
  methods: {
    stand({ number, before, key }) { // a height that does not stand: what was there before does
      const { [number]: now, ...others } = this.kept;
      this.kept = before === undefined ? others : { ...others, [number]: before };
      this.typed = this.typed.filter((one) => one.key !== key);
      this.at = this.places.findIndex((p) => p.number === number);
      this.move(0);
    },
    undo() { const last = this.typed[this.typed.length - 1]; window.dispatchEvent(new CustomEvent("sm-take-back", { detail: { key: last.key, done: (is) => is && this.stand(last) } })); },
    keep() {
      const place = this.places[this.at], values = { date: today(), place: place.number, x_m: place.x_m, y_m: place.y_m, [this.drop]: this.value, how: this.how, point: this.point };
      const note = newNote("height", values, `height ${values.date} ${this.point} ${place.x_m} ${place.y_m}`), one = { number: place.number, before: this.kept[place.number], key: note.key };
      this.typed.push(one);
      this.kept = { ...this.kept, [place.number]: this.value };
      send({ note, name: `${place.label}: ${this.value}`, answered: (said) => { if (said.state === "refused") this.stand(one); } });
      this.move(1);
    },
    move(n) { this.at = Math.min(this.places.length - 1, Math.max(0, this.at + n)); this.value = this.kept[this.places[this.at].number] ?? ""; this.$nextTick(() => this.$refs.field.focus()); },
  },
};
