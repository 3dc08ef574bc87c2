// The first screen: the sentence, the number, the newest photo, and the card of the day with a control in every line.
import { newNote, send, today } from "/js/waiting.js";

export default {
  template: `
    <div class="sm-answer">
      <p class="sm-sentence" role="status">{{ answer.sentence }}</p>
      <p v-if="answer.number !== null" class="sm-count"><strong class="sm-big">{{ counted }}<small> %</small></strong>
        <span>{{ answer.ground }}</span><span><b v-if="answer.change" class="sm-change">{{ answer.change.words }}</b> {{ answer.day }}</span></p>
      <figure v-if="answer.photo || preview" class="sm-newest" :class="{busy: bar}">
        <img v-if="preview" :src="preview" :alt="words.new_photo" @error="preview = ''" />
        <svg v-else :viewBox="view" role="img" :aria-label="answer.photo.alt" preserveAspectRatio="xMidYMid slice">
          <image :href="answer.photo.src" :width="answer.photo.width" :height="answer.photo.height" />
          <path :d="answer.photo.bare" class="bare under" /><path :d="answer.photo.bare" class="bare" />
          <g v-for="part in answer.photo.parts" :key="part.number" class="part" :class="{lit: lit === part.number}" @click="light(part.number)">
            <path :d="part.path" class="under" /><path :d="part.path" class="edge" />
            <circle :cx="part.x" :cy="part.y" :r="26" /><text :x="part.x" :y="part.y + 11">{{ part.number }}</text></g>
        </svg>
        <p v-if="bar" class="sm-bar-words"><span>{{ bar.words }}</span><progress :value="bar.part || null" max="1" :aria-label="bar.words"></progress></p>
      </figure>
      <ul v-if="answer.chips && answer.chips.length" class="sm-chips">
        <li v-for="chip in answer.chips" :key="chip.number"><button type="button" :aria-pressed="lit === chip.number" @click="light(chip.number)"><b>{{ chip.number }}</b> {{ chip.text }}</button></li></ul>
      <details v-if="answer.full" class="sm-more"><summary>{{ words.in_full }}</summary>
        <p>{{ answer.full }}</p><p v-for="note in answer.notes" :key="note">{{ note }}</p></details>
      <section v-if="card" class="sm-card" aria-labelledby="sm-card-title">
        <h2 id="sm-card-title">{{ card.title }}</h2>
        <ol>
          <li v-for="line in card.lines" :key="line.key" :class="{done: line.done}">
            <label v-if="line.tick" class="sm-tick"><input type="checkbox" :checked="line.done" @change="tick(line, $event.target)" /><span>{{ line.do }}</span></label>
            <form v-else-if="line.leaf" class="sm-leaf" @submit.prevent="leaf(line)"><label><span>{{ line.do }}</span> <span class="sm-leaf-field"><input type="number" step="any" min="0" inputmode="decimal" v-model="height" required /> {{ line.leaf }}</span></label><button class="sm-button sm-small">{{ words.save }}</button></form>
            <p v-else class="sm-do">{{ line.do }}</p>
            <label v-for="look in line.looks" :key="look.name" class="sm-tick sm-look"><input type="checkbox" :checked="look.on" @change="see(look, $event.target)" /><span>{{ look.words }}</span></label>
            <div class="sm-asides" :class="{apart: line.tick}">
              <a v-if="line.link" class="sm-go" :href="line.link.to">{{ line.link.text }}</a>
              <button v-if="line.photo" type="button" class="sm-go" @click="take">{{ words.take }}</button>
              <details v-if="line.why"><summary>{{ words.why }}</summary><p>{{ line.why }}</p></details>
              <details v-if="line.careful"><summary>{{ words.careful }}</summary><p>{{ line.careful }}</p></details></div>
          </li>
        </ol>
      </section>
    </div>`,
  props: { answer: Object, card: Object, progress: Object, words: Object },
  data() { return { counted: this.answer.number, lit: 0, preview: "", sending: null, waits: 0, height: "" }; },
  computed: {
    view() { return `0 0 ${this.answer.photo.width} ${this.answer.photo.height}`; },
    bar() { return this.sending || (this.progress.words ? this.progress : null) || (this.waits ? { words: this.words.measuring, part: 0 } : null); },
  },
  watch: {
    "answer.number"(now) { this.count(now); },
    progress(now, before) { if (now.words) this.rest(); else if (before.words && !this.sending) this.settle(); },
  },
  mounted() { window.addEventListener("sm-sending", this.sent); },
  beforeUnmount() { window.removeEventListener("sm-sending", this.sent); clearTimeout(this.waits); },
  methods: {
    sent(event) {
      const now = event.detail;
      this.sending = now.words ? now : null;
      if (now.url && now.url !== this.preview) this.preview = now.url;
      if (now.added) { clearTimeout(this.waits); this.waits = setTimeout(this.settle, 8000); }
      else if (!now.words && !this.waits && !this.progress.words) this.settle();
    },
    take() { window.dispatchEvent(new Event("sm-take")); },
    rest() { clearTimeout(this.waits); this.waits = 0; },
    settle() { this.rest(); this.preview = ""; },
    light(number) { this.lit = this.lit === number ? 0 : number; },
    leaf(line) {
      const note = newNote("leaf", { date: today(), ["height_" + line.leaf]: this.height });
      send({ note, name: `${this.words.leaf}, ${this.height} ${line.leaf}`, answered: (said) => { if (said.state !== "refused") this.height = ""; } });
    },
    tick(line, box) { this.put(box, "tick", { ...line.entry, date: today() }, line.do); },
    see(look, box) { this.put(box, "look", { date: today(), name: look.name }, look.words); },
    put(box, kind, values, words) {
      const on = box.checked, note = newNote(kind, { ...values, on: on ? "yes" : "no" }, [kind, ...Object.values(values)].join(" "));
      send({ note, name: on ? words : `${this.words.not_done}: ${words}`, answered: (said) => { if (said.state === "refused") box.checked = !on; } });
    },
    count(now) {
      const calm = window.matchMedia("(prefers-reduced-motion: reduce)").matches, from = this.counted, begun = performance.now();
      if (calm || from === null || now === null) { this.counted = now; return; }
      const step = (at) => { const part = Math.min(1, (at - begun) / 600); this.counted = Math.round(from + (now - from) * part); if (part < 1) requestAnimationFrame(step); };
      requestAnimationFrame(step);
    },
  },
};
