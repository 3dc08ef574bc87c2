// One form of the diary or the readings. What is kept waits in the browser until the page has answered for it.
import { newNote, send, today } from "/js/waiting.js";

const drafts = new Map(); // what is typed in the form of a spot, which is built anew with each plan

export default {
  template: `
    <form class="sm-note-form" @submit.prevent="keep">
      <label v-for="f in fields" :key="f.name" class="sm-field" :class="'sm-field-' + f.kind"><span class="sm-label">{{ f.label }}</span>
        <select v-if="f.options" v-model="values[f.name]"><option v-for="o in f.options" :key="o[0]" :value="o[0]">{{ o[1] }}</option></select>
        <input v-else :type="f.kind" v-model="values[f.name]" v-bind="more(f)" @input="touched = true" />
        <span v-if="f.hint" class="sm-hint-text">{{ f.hint }}</span></label>
      <button class="sm-button" :class="{'sm-small': fields.length === 1}" :disabled="busy">{{ words.keep }}</button>
    </form>`,
  props: { kind: String, fields: Array, fixed: Object, words: Object },
  data() { return { values: this.fresh(), busy: false, touched: false }; },
  computed: { spot() { return this.fixed ? JSON.stringify(this.fixed) : ""; } },
  mounted() {
    document.addEventListener("visibilitychange", this.newDay);
    const draft = drafts.get(this.spot);
    drafts.delete(this.spot);
    if (!draft) return;
    Object.assign(this, { values: draft.values, touched: true });
    if (draft.typing) this.$el.querySelector("input").focus({ preventScroll: true });
  },
  beforeUnmount() {
    document.removeEventListener("visibilitychange", this.newDay);
    if (this.spot && this.touched && !this.busy) drafts.set(this.spot, { values: { ...this.values }, typing: this.$el.contains(document.activeElement) });
  },
  methods: {
    fresh() { return Object.fromEntries(this.fields.map((f) => [f.name, f.kind === "date" ? today() : f.value])); },
    newDay() { if (!this.touched) Object.assign(this.values, this.fresh()); },
    more(f) { return f.kind === "number" ? { step: "any", inputmode: "decimal", required: this.fields.length === 1 } : f.kind === "text" ? { maxlength: 400, autocomplete: "off" } : { required: true }; },
    keep() {
      const values = { date: today(), ...this.fixed };
      for (const f of this.fields) values[f.name] = this.values[f.name];
      const shown = this.fields.map((f) => (f.options?.find((o) => o[0] === values[f.name]) || [0, values[f.name]])[1]);
      const name = [this.words.title, ...shown.filter((one) => one !== "" && one !== undefined)].join(", ");
      this.busy = true;
      send({ note: newNote(this.kind, values), name, answered: (said) => { this.busy = false; if (said.state !== "refused") this.clear(); } });
    },
    clear() {
      this.touched = false;
      for (const f of this.fields) if (!f.options && f.kind !== "date") this.values[f.name] = "";
    },
  },
};
