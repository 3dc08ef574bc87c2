// Taking photos in: the phone's camera, files, or files dropped anywhere on the page; the first photo helps to frame the next.
// Each file, and each note that another part of the page hands over, goes up on its own, and waits in the browser until the
// page has answered for it (waiting.js).
import { allKept, counted, drop, isKept, keep, tell } from "/js/waiting.js";

const RETRY_MS = 20000, STALLED_MS = 45000, STALLED_NOTE_MS = 10000;
const two = (n) => String(n).padStart(2, "0");
export default {
  template: `
    <div class="sm-intake" :class="{over}">
      <ul class="sm-queue" v-if="listed.length || held.length || others.length" aria-live="polite">
        <li v-if="held.length" class="sm-held">
          <details><summary>{{ counted(waits, held) }}</summary>
            <ul><li v-for="item in held" :key="item.key"><span class="sm-name">{{ item.name }}</span>
              <span v-if="!item.id" class="sm-say">{{ waits.unkept }}</span>
              <button class="sm-button sm-plain sm-small" @click="discard(item)">{{ item.sure ? waits.sure : waits.discard }}</button></li></ul></details>
          <button class="sm-button sm-small" @click="retry(true)">{{ waits.send }}</button>
          <p class="sm-say">{{ reason || waits.soon }}</p>
        </li>
        <li v-for="group in others" :key="group.lawn" class="sm-held">
          <p>{{ counted(waits, group.records, waits.other).replaceAll("{lawn}", group.name) }}</p>
          <button class="sm-button sm-small" @click="adopt(group)">{{ waits.other.here }}</button>
          <button class="sm-button sm-plain sm-small" @click="discardAll(group)">{{ group.sure ? waits.sure : waits.discard }}</button>
        </li>
        <li v-for="item in listed" :key="item.key" :class="item.state">
          <span class="sm-name">{{ item.name }}</span><span class="sm-say">{{ item.say }}</span>
          <form v-if="item.needsDay" class="sm-day" @submit.prevent="again(item)">
            <label>Taken on <input type="date" v-model="item.day" required /></label>
            <button class="sm-button sm-small">Add with this day</button>
          </form>
          <button v-if="item.state !== 'added'" class="sm-close" aria-label="Close" @click="close(item)">×</button>
        </li>
      </ul>
      <p class="sm-due" v-if="due">{{ due }}</p>
      <div class="sm-intake-row">
        <label class="sm-button sm-take"><span>Take today’s photo</span>
          <input type="file" accept="image/*" capture="environment" class="sm-file" data-role="take" @change="picked" /></label>
        <label class="sm-button sm-plain sm-pick"><span>Choose photos</span>
          <input type="file" multiple accept="image/*,.heic,.heif" class="sm-file" data-role="choose" @change="picked" /></label>
      </div>
      <details class="sm-intake-more"><summary>Other ways to add a photo</summary>
        <label class="sm-field" v-if="points.length > 1">Photo point
          <select v-model="point"><option v-for="p in points" :key="p" :value="p">{{ p }}</option></select></label>
        <button v-if="canPreview && ghost" class="sm-button sm-plain" @click="openCamera">Camera with your first photo over it</button>
        <p class="sm-quiet">JPEG, HEIC, PNG, TIFF or WebP, up to {{ most_mb }} MB each. You can drop files anywhere on this page.</p>
        <figure v-if="ghost" class="sm-ghost"><img :src="ghost" loading="lazy" alt="Your first photo from this spot" /><figcaption class="sm-quiet">Frame it like your first photo from this spot.</figcaption></figure>
      </details>
      <div v-if="camera" class="sm-camera" role="dialog" aria-label="Camera">
        <div class="sm-finder"><video ref="video" playsinline muted></video><img :src="ghost" :style="{opacity: veil}" alt="" /></div>
        <div class="sm-camera-row">
          <label>First photo <input type="range" min="0" max="0.8" step="0.05" v-model.number="veil" /></label>
          <button class="sm-button" @click="shoot">Take it</button>
          <button class="sm-button sm-plain" @click="closeCamera">Close</button>
        </div>
      </div>
    </div>`,
  props: { ghosts: Object, due: String, points: Array, most_mb: Number, lawn: Object, waits: Object },
  data() {
    return { queue: [], others: [], over: false, point: this.points[0] || "main", running: 0, next: 1, camera: null, veil: 0.4 };
  },
  computed: {
    listed() { return this.queue.filter((one) => !["keeping", "waiting", "sending", "lost"].includes(one.state)); },
    held() { return this.queue.filter((one) => one.state === "lost"); },
    reason() { const told = this.held.find((one) => one.say); return told ? told.say : ""; },
    ghost() { return this.ghosts[this.point] || ""; },
    canPreview() { return window.isSecureContext && !!(navigator.mediaDevices && navigator.mediaDevices.getUserMedia); },
  },
  mounted() {
    this.heard = { dragover: (e) => { e.preventDefault(); this.over = true; }, dragleave: () => { this.over = false; }, drop: this.dropped, "sm-take": () => this.$el.querySelector("[data-role=take]").click(), "sm-send": (e) => this.accept(e.detail), "sm-take-back": (e) => this.takeBack(e.detail), online: () => this.retry() };
    for (const [kind, act] of Object.entries(this.heard)) window.addEventListener(kind, act);
    this.clock = setInterval(() => this.retry(), RETRY_MS);
    this.remember();
  },
  beforeUnmount() {
    clearInterval(this.clock);
    this.closeCamera();
    for (const [kind, act] of Object.entries(this.heard)) window.removeEventListener(kind, act);
  },
  methods: {
    counted,
    picked(event) { this.take([...event.target.files]); event.target.value = ""; },
    dropped(event) { event.preventDefault(); this.over = false; this.take([...event.dataTransfer.files]); },
    line(more) {
      this.queue.push({ key: this.next++, part: 0, state: "waiting", say: "", day: "", needsDay: false, lawn: this.lawn.key, ...more });
      return this.queue[this.queue.length - 1];
    },
    async take(files) {
      const lines = files.map((file) => this.line({ file, name: file.name, point: this.point, state: "keeping" }));
      for (const item of lines) { await this.keep(item); item.state = "waiting"; this.pump(); }
    },
    async accept(more) { // a note, or a photo of the sand
      const same = (one) => one.note && more.note?.about && one.note.about === more.note.about && one.state !== "sending";
      for (const one of this.queue.filter(same)) this.close(one);
      const item = this.line({ point: this.point, ...more, state: "keeping" });
      await this.keep(item);
      item.state = "waiting";
      this.pump();
    },
    async keep(item) {
      const { file, name, point, day, walk, taken } = item, record = { lawn: this.lawn.key, lawnName: this.lawn.name, file, name, point, day, walk, taken };
      if (item.note) {
        item.note.tried ||= this.lawn.run; // by a page that may have kept it, if no answer comes
        record.note = JSON.parse(JSON.stringify(item.note));
      } else if (file.size > this.most_mb * 1e6) return;
      if (item.id) record.id = item.id;
      try { item.id = await keep(record); } catch { item.id = 0; } // private window, or no room: it is sent from memory
    },
    async remember() {
      let records = [];
      try { records = await allKept(); } catch { return; }
      const groups = new Map();
      for (const one of records) {
        if (one.lawn === this.lawn.key) { const item = this.line(one); if (one.note && !one.note.tried) await this.keep(item); }
        else groups.set(one.lawn, [...(groups.get(one.lawn) || []), one]);
      }
      this.others = [...groups].map(([lawn, own]) => ({ lawn, name: own[0].lawnName, records: own, sure: false }));
      this.pump();
    },
    async adopt(group) {
      this.others = this.others.filter((one) => one !== group);
      for (const one of group.records) { const item = this.line({ ...one, state: "keeping", point: this.point, lawn: this.lawn.key }); await this.keep(item); item.state = "waiting"; this.pump(); }
    },
    async discardAll(group) {
      if (!group.sure) { group.sure = true; return; }
      for (const one of group.records) await drop(one.id);
      this.others = this.others.filter((one) => one !== group);
    },
    discard(item) { if (item.sure) this.close(item); else item.sure = true; },
    close(item) { this.forget(item); this.drop(item); },
    forget(item) { if (item.id) drop(item.id).catch(() => {}); item.id = 0; },
    async retry(all = false) {
      const lost = this.held.filter((one) => all || !one.refused);
      if (!lost.length) return;
      try {
        const answer = await fetch("/healthz", { cache: "no-store" });
        if (!answer.ok) { const say = await answer.text(); for (const one of lost) one.say = say; return; }
      } catch { return; }
      for (const item of lost) Object.assign(item, { state: "waiting", say: "" });
      this.pump();
    },
    drop(item) { this.queue = this.queue.filter((one) => one.key !== item.key); },
    tell(item, more) {
      if (item.note || item.walk) return;
      const photos = this.queue.filter((one) => !one.note && !one.walk), all = photos.length;
      const sent = photos.filter((one) => !["keeping", "waiting", "sending"].includes(one.state)).length;
      const mb = (n) => (n / 1e6).toFixed(1), part = item.file.size ? item.part : 0;
      const words = `Sending${all > 1 ? ` photo ${sent + 1} of ${all}` : ""}, ${mb(part * item.file.size)} of ${mb(item.file.size)} MB`;
      const url = (item.url ||= URL.createObjectURL(item.file));
      window.dispatchEvent(new CustomEvent("sm-sending", { detail: { url, words, part, ...more } }));
    },
    again(item) { Object.assign(item, { state: "waiting", say: "", needsDay: false }); this.pump(); },
    pump() {
      while (this.running < 2) {
        const noteGoes = this.queue.some((one) => one.note && one.state === "sending"); // notes go in their order
        const item = this.queue.find((one) => one.state === "waiting" && !(one.note && noteGoes));
        if (!item) return;
        this.running += 1;
        this.send(item).finally(() => { this.running -= 1; this.pump(); });
      }
    },
    async send(item) {
      Object.assign(item, { state: "sending", part: 0, refused: false });
      if (item.file && item.file.size > this.most_mb * 1e6) {
        Object.assign(item, { state: "refused", say: `larger than ${this.most_mb} MB. Export it as a JPEG.` });
        this.heard_of(item, { state: "refused", say: item.say });
        return;
      }
      if (item.id && !(await isKept(item.id).catch(() => true))) { this.drop(item); return; } // another tab has sent it
      this.tell(item);
      const [address, body, patience] = this.asked(item);
      await new Promise((done) => {
        const ask = new XMLHttpRequest();
        let stalled = 0;
        const heard = () => { clearTimeout(stalled); stalled = setTimeout(() => ask.abort(), patience); };
        ask.open("PUT", address);
        ask.upload.onprogress = (e) => { heard(); item.part = e.total ? e.loaded / e.total : 0; this.tell(item); };
        ask.onload = () => this.answered(item, ask);
        ask.onerror = ask.onabort = () => { this.tell(item, { words: "" }); Object.assign(item, { state: "lost", say: "" }); this.heard_of(item, { state: "lost" }); };
        ask.onloadend = () => { clearTimeout(stalled); done(); };
        heard();
        ask.send(body);
      });
    },
    asked(item) {
      if (item.note) return ["/notes", JSON.stringify(item.note), STALLED_NOTE_MS];
      const query = new URLSearchParams({ name: item.name, point: item.point });
      if (item.taken) query.set("taken", item.taken);
      if (item.walk) return ["/walk?" + query, item.file, STALLED_MS];
      query.set("calm", "1");
      if (item.day) query.set("date", item.day);
      return ["/photos?" + query, item.file, STALLED_MS];
    },
    heard_of(item, said) { // the part of the page that handed it over hears once how it went
      const { answered } = item;
      item.answered = null;
      if (answered && said.state === "lost") tell(this.waits.here);
      answered?.(said);
    },
    told(item, said) { // of a note, or a photo of the sand
      const lasts = said.state === "lost" || (said.state === "refused" && !item.answered); // a refused note stays in its form
      if (["added", "known"].includes(said.state) && item.note && said.say) tell(said.say, { undo: said.undo ? item.note.key : "" });
      if (said.state === "refused" && item.answered && item.note) tell(said.say, { bad: true });
      if (!lasts || (said.state === "refused" && item.walk)) this.forget(item);
      if (lasts) Object.assign(item, { state: said.state, say: said.say }); else this.drop(item);
      this.heard_of(item, said);
    },
    async takeBack({ key, done }) {
      const item = this.queue.find((one) => one.note && one.note.key === key);
      let said = { say: this.waits.not_back, bad: true };
      if (item && item.state === "lost") { this.close(item); said = { say: this.waits.back }; }
      else try { said = await (await fetch("/notes/back?key=" + key, { method: "PUT" })).json(); } catch { /* out of reach */ }
      tell(said.say, { bad: !!said.bad });
      done?.(!said.bad);
    },
    answered(item, ask) {
      let said = {};
      try { said = JSON.parse(ask.responseText); } catch { said = { state: "lost", say: ask.responseText }; } // the gate, or a fault
      item.refused = ask.status === 500;
      if (said.state !== "lost") this.retry(); // the page is in reach: what was lost before goes now
      if (item.note || item.walk) { this.told(item, said); return; }
      this.tell(item, { words: "", added: said.state === "added" });
      if (said.again) { Object.assign(item, { state: "lost", say: said.say, refused: true }); return; }
      const asksDay = !!said.needs_day || (said.state === "refused" && !!item.day);
      if (said.state !== "lost" && !asksDay) this.forget(item);
      Object.assign(item, { state: said.state, say: said.say, needsDay: asksDay });
      if (["added", "known"].includes(said.state)) setTimeout(() => this.drop(item), 5000);
    },
    async openCamera() {
      try {
        const size = { facingMode: "environment", width: { ideal: 4096 }, height: { ideal: 3072 } };
        this.camera = await navigator.mediaDevices.getUserMedia({ video: size, audio: false });
        await this.$nextTick();
        this.$refs.video.srcObject = this.camera;
        await this.$refs.video.play();
      } catch {
        this.closeCamera();
        this.$emit("trouble", "The camera cannot be opened here. Use “Take today’s photo” instead.");
      }
    },
    closeCamera() { if (this.camera) this.camera.getTracks().forEach((track) => track.stop()); this.camera = null; },
    shoot() {
      const video = this.$refs.video, canvas = document.createElement("canvas");
      canvas.width = video.videoWidth; canvas.height = video.videoHeight;
      canvas.getContext("2d").drawImage(video, 0, 0);
      const now = new Date();
      const day = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
      const clock = `${two(now.getHours())}-${two(now.getMinutes())}-${two(now.getSeconds())}`;
      canvas.toBlob((blob) => this.take([new File([blob], `${day} ${clock}.jpg`, { type: "image/jpeg" })]), "image/jpeg", 0.95);
      this.closeCamera();
    },
  },
};
