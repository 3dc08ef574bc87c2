// One line at the page's foot for a while: what was kept, with Undo, or what went wrong, until it is closed.
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
  data() { return { list: [] }; },
  methods: {
    push(one) {
      this.list = [...this.list.filter((other) => !one.bad || other.text !== one.text), one].slice(-3);
      if (!one.bad) setTimeout(() => this.drop(one.id), one.undo ? 12000 : 4000);
    },
    undo(one) { this.drop(one.id); this.$emit("undo", one.id); },
    drop(id) { this.list = this.list.filter((one) => one.id !== id); },
  },
};
