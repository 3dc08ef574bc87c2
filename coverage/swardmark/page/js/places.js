// The named places of the page: the address after # says which one is shown; the server builds a place when it is first gone to.
export default {
  template: `
    <nav class="sm-nav" :aria-label="label">
      <a v-for="(text, place) in places" :key="place" :href="'#' + place" :aria-current="place === at ? 'page' : null">{{ text }}</a>
    </nav>`,
  props: { places: Object, others: Array, label: String, first: String },
  data() { return { at: "", wanted: "" }; },
  mounted() {
    history.scrollRestoration = "manual";
    window.addEventListener("hashchange", this.go);
    window.addEventListener("sm-built", this.find);
    this.go();
  },
  beforeUnmount() { window.removeEventListener("hashchange", this.go); window.removeEventListener("sm-built", this.find); },
  methods: {
    go() {
      const [place, spot] = decodeURIComponent(location.hash.slice(1)).split("/");
      const known = place in this.places || this.others.includes(place);
      const now = known ? place : this.first, moved = now !== this.at;
      Object.assign(this, { at: now, wanted: spot || "" });
      document.documentElement.dataset.place = now;
      if (moved) { this.$emit("go", now); window.scrollTo(0, 0); }
      this.find();
    },
    find() {
      if (innerWidth >= 1000) for (const fold of document.querySelectorAll(".sm-fold")) fold.open = true;
      const spot = this.wanted && document.getElementById(this.wanted);
      if (!spot) return;
      this.wanted = "";
      for (let box = spot.closest("details"); box; box = box.parentElement.closest("details")) box.open = true;
      spot.scrollIntoView({ block: "center" });
      const field = spot.matches("input, select, button") ? spot : spot.querySelector("input, select, button");
      if (field) field.focus({ preventScroll: true });
    },
  },
};
