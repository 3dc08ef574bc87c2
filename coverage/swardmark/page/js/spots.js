// The spots to level, outlined and numbered on the newest photo of the ground, seen straight down.
export default {
  template: `
    <figure class="sm-spotsheet" ref="box">
      <svg class="sm-sheet" :viewBox="frame.left + ' ' + -frame.top + ' ' + (frame.right - frame.left) + ' ' + (frame.top - frame.bottom)" role="img" :aria-label="spots.length + ' spots on the ground seen straight down'">
        <image :href="picture" :x="frame.left" :y="-frame.top" :width="frame.right - frame.left" :height="frame.top - frame.bottom" preserveAspectRatio="none" />
        <g v-for="spot in spots" :key="spot.number" class="sm-spot" :class="{chosen: spot.chosen}">
          <polygon :points="path(spot)" class="under" /><polygon :points="path(spot)" class="edge" />
          <text :x="spot.x" :y="-spot.y + 5 / px" :font-size="15 / px">{{ spot.number }}</text></g>
      </svg>
      <figcaption>A full line: this season. A dashed line: it waits. A photo sees cover, not height.</figcaption>
    </figure>`,
  props: { picture: String, frame: Object, spots: Array },
  data() { return { wide: 330 }; },
  computed: { px() { return this.wide / (this.frame.right - this.frame.left); } },
  mounted() { this.watcher = new ResizeObserver(() => { if (this.$refs.box) this.wide = this.$refs.box.clientWidth || this.wide; }); this.watcher.observe(this.$refs.box); },
  beforeUnmount() { this.watcher.disconnect(); },
  methods: { path(spot) { return spot.outline_m.map((p) => `${p[0]},${-p[1]}`).join(" "); } },
};
