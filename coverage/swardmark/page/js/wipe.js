// The same ground on two chosen days: one wiped over the other, or side by side.
export default {
  template: `
    <figure class="sm-wipe">
      <div class="sm-wipe-choose">
        <label class="sm-field">First day <select v-model.number="early"><option v-for="(d, i) in days" :key="i" :value="i">{{ d.label }}</option></select></label>
        <label class="sm-field">Second day <select v-model.number="late" data-role="day"><option v-for="(d, i) in days" :key="i" :value="i">{{ d.label }}</option></select></label>
        <div class="sm-pair" role="group" aria-label="How the days are compared"><button v-for="(text, name) in ways" :key="name" type="button" class="sm-button sm-plain" :class="{on: way === name}" :aria-pressed="way === name" @click="way = name">{{ text }}</button></div>
      </div>
      <div v-if="way === 'side'" class="sm-side"><div v-for="i in [early, late]"><img :src="days[i].picture" :alt="'The ground on ' + days[i].label" /><p>{{ days[i].label }}</p></div></div>
      <div v-else class="sm-wipe-stage">
        <img :src="days[late].picture" :alt="'The ground on ' + days[late].label" />
        <img :src="days[early].picture" :alt="'The ground on ' + days[early].label" :style="{clipPath: 'inset(0 ' + (100 - wipe) + '% 0 0)'}" />
        <div class="sm-wipe-line" :style="{left: wipe + '%'}" aria-hidden="true"></div>
        <span class="sm-wipe-tag left">{{ days[early].label }}</span><span class="sm-wipe-tag right">{{ days[late].label }}</span>
        <input class="sm-wipe-range" type="range" min="0" max="100" v-model.number="wipe" aria-label="Wipe between the two days" />
      </div>
    </figure>`,
  props: { days: Array },
  data() { return { early: 0, late: this.days.length - 1, wipe: 50, way: "wipe", ways: { wipe: "Wipe", side: "Side by side" } }; },
  watch: { days(now) { this.early = Math.min(this.early, now.length - 1); this.late = now.length - 1; } },
};
