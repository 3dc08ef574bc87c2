// A lawn that comes back from its zip file, before there is one.
export default {
  template: `
    <div class="sm-restore"><label class="sm-button sm-plain"><span>{{ words.choose }}</span><input type="file" accept=".zip,application/zip" class="sm-file" data-role="restore" @change="send" /></label>
      <p role="status" :class="{'sm-bad': bad}">{{ said }}</p></div>`,
  props: { words: Object },
  data() { return { said: "", bad: false }; },
  methods: {
    async send(event) {
      const [file] = event.target.files;
      event.target.value = "";
      if (!file) return;
      Object.assign(this, { said: this.words.sending, bad: false });
      try {
        const answer = await (await fetch("/restore", { method: "PUT", body: file })).json();
        if (answer.state === "done") location.reload(); else Object.assign(this, { said: answer.say, bad: true });
      } catch { Object.assign(this, { said: this.words.lost, bad: true }); }
    },
  },
};
