// Four questions about one place, each answered by a tap.
import { newNote, send, today } from "/js/waiting.js";

export default {
  template: `
    <form class="sm-probe" @submit.prevent="keep">
      <label class="sm-field"><span class="sm-label">{{ words.where }}</span><select v-model="spot"><option v-for="s in spots" :key="s.number" :value="s.number">{{ s.label }}</option></select></label>
      <fieldset v-for="(ask, name) in words.asks" :key="name"><legend>{{ ask.ask }}</legend>
        <label v-for="(text, value) in ask.answers" :key="value" class="sm-option"><input type="radio" :name="'probe-' + name" :value="value" v-model="answers[name]" /><span>{{ text }}</span></label></fieldset>
      <label class="sm-field"><span class="sm-label">{{ words.sand }}</span><input type="number" min="0" step="any" inputmode="decimal" v-model="sand" /></label>
      <button class="sm-button" :disabled="!some">{{ words.keep }}</button>
    </form>`,
  props: { spots: Array, words: Object },
  data() { return { spot: this.spots[0].number, answers: {}, sand: "" }; },
  computed: { some() { return Object.keys(this.answers).length > 0 || this.sand !== ""; } },
  methods: {
    keep() {
      const { label, point, x_m, y_m } = this.spots.find((one) => one.number === this.spot), said = { ...this.answers, sand_mm: this.sand === "" ? "" : this.sand * this.words.unit_mm };
      const name = [label, ...Object.values(this.answers), this.sand].filter((one) => one !== "").join(", ");
      send({ note: newNote("probe", { date: today(), point, x_m, y_m, ...said }), name, answered: ({ state }) => { if (state !== "refused") Object.assign(this, { answers: {}, sand: "" }); } });
    },
  },
};
