// The same ground on two days, one wiped over the other; the slider below chooses the later day.
export default {
  template: `
    <figure class="sm-wipe">
      <div class="sm-wipe-stage">
        <img :src="days[late].picture" :alt="'The ground on ' + days[late].label" />
        <img v-if="days.length > 1" :src="days[0].picture" :alt="'The ground on ' + days[0].label" :style="{clipPath: 'inset(0 ' + (100 - wipe) + '% 0 0)'}" />
        <div v-if="days.length > 1" class="sm-wipe-line" :style="{left: wipe + '%'}" aria-hidden="true"></div>
        <span v-if="days.length > 1" class="sm-wipe-tag left">{{ days[0].label }}</span><span class="sm-wipe-tag right">{{ days[late].label }}</span>
        <input v-if="days.length > 1" class="sm-wipe-range" type="range" min="0" max="100" v-model.number="wipe" aria-label="Wipe between the two days" />
      </div>
      <label v-if="days.length > 1" class="sm-field">Day <input type="range" min="0" :max="days.length - 1" step="1" v-model.number="late" data-role="day" :aria-valuetext="days[late].label" /><output>{{ days[late].label }}</output></label>
    </figure>`,
  props: { days: Array },
  data() { return { late: this.days.length - 1, wipe: 50 }; },
  watch: { days(now) { this.late = now.length - 1; } },
};
