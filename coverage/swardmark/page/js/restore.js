// A lawn that comes back from its zip file, before there is one.
const MOST_BYTES = 4.1e9;
export default {
  template: `
    <div class="sm-restore"><label class="sm-button sm-plain"><span>{{ words.choose }}</span><input type="file" accept=".zip,application/zip" class="sm-file" data-role="restore" :disabled="busy" @change="send" /></label>
      <p class="sm-quiet">{{ words.limit }}</p>
      <p role="status" :class="{'sm-bad': bad}">{{ said }}</p></div>`,
  props: { words: Object },
  data() { return { said: "", bad: false, busy: false }; },
  methods: {
    say(said, bad = false) { Object.assign(this, { said, bad, busy: !bad }); },
    send(event) {
      const [file] = event.target.files, ask = new XMLHttpRequest(), mb = (n) => Math.round(n / 1e6);
      event.target.value = "";
      if (!file) return;
      if (file.size > MOST_BYTES) { this.say(this.words.large, true); return; }
      const tell = (part) => this.say(this.words.sending.replace("{part}", mb(part)).replace("{all}", mb(file.size)));
      tell(0);
      ask.open("PUT", "/restore");
      ask.upload.onprogress = (e) => tell(e.loaded);
      ask.upload.onload = () => this.say(this.words.unpacking);
      ask.onload = () => {
        let answer = { say: ask.responseText };
        try { answer = JSON.parse(ask.responseText); } catch { /* the gate's own words */ }
        if (answer.state === "done") location.reload(); else this.say(answer.say, true);
      };
      ask.onerror = () => this.say(this.words.lost, true);
      ask.send(file);
    },
  },
};
