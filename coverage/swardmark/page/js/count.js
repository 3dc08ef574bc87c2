// Counting by eye with a thumb: a piece of the photo with a small ring; what is inside the ring?
export default {
  template: `
    <div class="sm-eye" @keydown="key" tabindex="-1">
      <p class="sm-eye-at"><strong>{{ Math.min(number + 1, total) }} of {{ total }}</strong> <span class="sm-quiet">{{ said }}</span></p>
      <template v-if="crop">
        <svg viewBox="0 0 1 1" role="img" :aria-label="words.alt"><image :href="crop" width="1" height="1" />
          <circle :cx="ring.x" :cy="ring.y" :r="ring.r" class="under" /><circle :cx="ring.x" :cy="ring.y" :r="ring.r" /></svg>
        <img v-if="next" :src="next" alt="" hidden />
        <p class="sm-quiet">{{ words.ask }}</p>
        <div class="sm-eye-keys"><button v-for="(text, word) in words.answers" :key="word" type="button" class="sm-button" :class="{'sm-plain': word !== 'leaf'}" @click="$emit('said', word)">{{ text }}</button></div>
      </template>
      <p v-else><strong>{{ words.done }}</strong></p>
      <button type="button" class="sm-button sm-plain sm-small" :disabled="!number" @click="$emit('undo')">{{ words.undo }}</button>
    </div>`,
  props: { number: Number, total: Number, crop: String, next: String, ring: Object, said: String, words: Object },
  methods: { key(event) { const word = { 1: "leaf", 2: "ground", 3: "cannot tell" }[event.key]; if (word && this.crop) this.$emit("said", word); } },
};
