// Photos are made small on the phone and sent one after the other, over a form that works without this.
(() => {
  "use strict";
  const LARGEST = 2048;
  const LOST = "This did not reach the studio's book. It is still here: press the button again.";
  const SIGNED_OUT = "You are signed out. Sign in in another window, then press the button again.";
  let waiting = [];
  let busy = false;

  const of = (form, selector) => form.querySelector(selector);
  const made = (name, about = {}) => Object.assign(document.createElement(name), about);

  // Drawing it anew turns it upright and leaves behind where and when it was taken.
  const shrunk = async (file) => {
    try {
      const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
      const share = Math.min(1, LARGEST / Math.max(picture.width, picture.height));
      const canvas = made("canvas", { width: Math.max(1, Math.round(picture.width * share)), height: Math.max(1, Math.round(picture.height * share)) });
      const pen = canvas.getContext("2d");
      pen.fillStyle = "#fff";
      pen.fillRect(0, 0, canvas.width, canvas.height);
      pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
      picture.close();
      return (await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.88))) ?? file;
    } catch {
      return file; // the studio says what is wrong with it
    }
  };

  const sentence = (xhr, page) => {
    if (new URL(xhr.responseURL || location.href).pathname === "/login") return SIGNED_OUT;
    const said = [...page.querySelectorAll(".error-summary li")].map((each) => each.textContent.trim());
    const fault = page.querySelector("#fault h1")?.nextElementSibling?.textContent.trim();
    return said.join(" ") || fault || LOST;
  };

  const send = (form, one, content) => new Promise((done) => {
    const body = new FormData();
    for (const name of ["caption", "of"]) body.append(name, form.elements[name].value);
    body.append("photos", content, one.file.name || "photo.jpg");
    const xhr = new XMLHttpRequest();
    xhr.open("POST", form.action);
    xhr.setRequestHeader("HX-Request", "true");
    xhr.setRequestHeader("HX-Target", "photos");
    xhr.upload.onprogress = ({ loaded, total }) => { one.bar.max = total; one.bar.value = loaded; };
    xhr.onload = () => {
      const page = new DOMParser().parseFromString(xhr.responseText, "text/html");
      const gallery = page.getElementById("gallery");
      const kept = xhr.status === 200 && gallery && !page.querySelector(".error-summary");
      if (kept) document.getElementById("gallery").replaceWith(document.adoptNode(gallery));
      done(kept ? "" : sentence(xhr, page));
    };
    xhr.onerror = xhr.ontimeout = xhr.onabort = () => done(LOST);
    xhr.send(body);
  });

  const row = (file) => {
    const one = { file, line: made("li"), bar: made("progress", { max: 1, value: 0 }) };
    one.bar.setAttribute("aria-label", `Sending ${file.name}`);
    one.line.append(made("span", { className: "name", textContent: file.name }), one.bar);
    return one;
  };

  const refuse = (one, words) => {
    const leave = made("button", { type: "button", className: "plain", textContent: "Leave it out" });
    leave.setAttribute("aria-label", `Leave out ${one.file.name}`);
    leave.addEventListener("click", () => {
      waiting = waiting.filter((other) => other !== one);
      one.line.remove();
    });
    one.line.replaceChildren(
      made("span", { className: "name", textContent: one.file.name }), leave, made("p", { className: "error", textContent: words }),
    );
  };

  const sendAll = async (form) => {
    const list = of(form, ".sending");
    const told = of(form, ".told");
    const button = of(form, "button[type=submit]");
    const asked = waiting;
    waiting = [];
    busy = button.disabled = true;
    list.hidden = false;
    list.replaceChildren(...asked.map((one) => one.line));
    let kept = 0;
    for (const one of asked) {
      told.textContent = `Sending ${kept + waiting.length + 1} of ${asked.length}.`;
      one.line.replaceChildren(made("span", { className: "name", textContent: one.file.name }), one.bar);
      const refusal = await send(form, one, await shrunk(one.file));
      if (refusal) {
        refuse(one, refusal);
        waiting.push(one);
      } else {
        one.line.remove();
        kept += 1;
      }
    }
    busy = button.disabled = false;
    list.hidden = !waiting.length;
    const left = waiting.length ? ` ${waiting.length} not: see above.` : "";
    const first = kept ? `${kept} ${kept === 1 ? "photo is" : "photos are"} in the book.` : "Nothing is in the book yet.";
    told.textContent = first + left;
    if (!waiting.length) form.elements.caption.value = "";
    button.focus();
  };

  document.addEventListener("submit", (event) => {
    const form = event.target.closest?.("form[data-photos]");
    if (!form) return;
    const fields = [...form.querySelectorAll("input[type=file]")];
    waiting.push(...fields.flatMap((field) => [...field.files]).map(row));
    if (!waiting.length) return; // the studio says that none was chosen
    event.preventDefault();
    for (const field of fields) field.value = "";
    if (!busy) sendAll(form);
  });

  addEventListener("beforeunload", (event) => { if (busy) event.preventDefault(); });
})();
