// One line at the page's foot for a while: what was kept, with Undo, or what went wrong, until it is closed. Lines come from the
// page, or from a part of it in this browser (waiting.js), which then takes back as well.
export default {
  template: `
    <div class="sm-notices" role="status" aria-live="polite">
      <div v-for="one in list" :key="one.id" class="sm-notice" :class="{bad: one.bad}">
        <p>{{ one.text }}</p>
        <button v-if="one.undo" type="button" @click="undo(one)">{{ words.undo }}</button>
        <button v-if="one.bad || one.undo" type="button" :aria-label="words.close" @click="drop(one.id)">×</button>
      </div>
    </div>`,
  props: { words: Object },
  data() { return { list: [], own: 0 }; },
  mounted() { window.addEventListener("sm-told", this.told); },
  beforeUnmount() { window.removeEventListener("sm-told", this.told); },
  methods: {
    told({ detail }) { this.push({ ...detail, id: --this.own, key: detail.undo }); },
    push(one) {
      this.list = [...this.list.filter((other) => !one.bad || other.text !== one.text), one].slice(-3);
      if (!one.bad) setTimeout(() => this.drop(one.id), one.undo ? 12000 : 4000);
    },
    undo(one) {
      this.drop(one.id);
      if (one.id < 0) window.dispatchEvent(new CustomEvent("sm-take-back", { detail: { key: one.key } })); else this.$emit("undo", one.id);
    },
    drop(id) { this.list = this.list.filter((one) => one.id !== id); },
  },
};
