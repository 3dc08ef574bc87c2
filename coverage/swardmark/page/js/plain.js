// What NiceGUI asks of Quasar, for a page of plain elements: none of its components is used here, so its half megabyte
// of script is not sent. NiceGUI lays every page out in three of them; they become a div, a div and the one main landmark.
(() => {
  const wrap = (tag, name) => ({ inheritAttrs: true, setup: (_, { slots }) => () => Vue.h(tag, { class: name }, slots.default?.()) });
  const dark = matchMedia("(prefers-color-scheme: dark)");
  let wanted = "auto";
  function show() {
    const isDark = wanted === "auto" ? dark.matches : wanted;
    document.body.classList.toggle("body--dark", isDark);
    document.body.classList.toggle("body--light", !isDark);
  }
  dark.addEventListener("change", show);
  const languages = { set() {} };
  window.Quasar = {
    lang: languages,
    Lang: languages,
    Dark: { set(value) { wanted = value; show(); } },
    Notify: { create() {} },
    install(app) {
      app.component("q-layout", wrap("div", "q-layout"));
      app.component("q-page-container", wrap("div", "q-page-container"));
      app.component("q-page", wrap("main", "q-page"));
    },
  };
})();
