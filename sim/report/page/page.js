"use strict";
// A figure is moved into a dialog to be seen large, and put back when that is closed.
(function () {
  const dialog = document.getElementById("large");
  if (!dialog || !dialog.showModal) return;
  const room = dialog.querySelector(".room");
  const title = document.getElementById("large-title");
  let home = null;
  for (const button of document.querySelectorAll("button.enlarge")) {
    button.hidden = false;
    button.addEventListener("click", function () {
      const figure = button.closest("figure");
      home = figure.querySelector(".drawing");
      home.style.minHeight = home.offsetHeight + "px";
      title.textContent = figure.querySelector(".figure-title").textContent;
      room.replaceChildren(...home.childNodes);
      const key = figure.querySelector(".key");
      if (key) room.append(key.cloneNode(true));
      dialog.showModal();
    });
  }
  document.getElementById("large-close").addEventListener("click", () => dialog.close());
  dialog.addEventListener("click", (event) => {
    if (event.target === dialog) dialog.close();
  });
  dialog.addEventListener("close", function () {
    if (!home) return;
    home.replaceChildren(room.querySelector("svg"));
    home.style.minHeight = "";
    room.replaceChildren();
    home = null;
  });
  // what is folded is printed too
  addEventListener("beforeprint", function () {
    for (const folded of document.querySelectorAll("details:not([open])")) {
      folded.open = true;
      folded.dataset.folded = "";
    }
  });
  addEventListener("afterprint", function () {
    for (const folded of document.querySelectorAll("details[data-folded]")) {
      folded.open = false;
      delete folded.dataset.folded;
    }
  });
})();
