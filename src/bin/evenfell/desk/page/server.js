// What the page asks of the program. Every answer is JSON; a refusal carries its reason in words.

async function answer(response) {
  if (response.ok) return response;
  let why = `the desk answered ${response.status}`;
  try {
    why = (await response.json()).error ?? why;
  } catch {
    // No words came with it: the number must do.
  }
  throw new Error(why);
}

async function ask(address, options) {
  let response;
  try {
    response = await fetch(address, options);
  } catch {
    throw new Error("the desk doesn’t answer: is it still open in the terminal?");
  }
  return answer(response);
}

const json = async (address, options) => (await ask(address, options)).json();

const send = (address, body) =>
  ask(address, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
  });

export const photos = () => json("/api/photos");

export const takeOff = (id) => json(`/api/photos/${id}`, { method: "DELETE" });

export const sample = () => json("/api/sample", { method: "POST" });

export const measure = async (id, given) =>
  (await send(`/api/photos/${id}/measure`, given)).json();

export const compare = async (given) => (await send("/api/compare", given)).json();

export const yardage = async (given) => (await send("/api/yardage", given)).json();

export const everything = async (given) => (await send("/api/everything.zip", given)).blob();

export const file = async (id, name) => (await ask(`/api/photos/${id}/${name}`)).blob();

export const workPlan = (text) => json("/api/plan", { method: "POST", body: text });

export const starterPlan = async () => (await ask("/api/plan/starter")).text();

export const picture = (id, longest) => `/api/photos/${id}/picture.jpg?longest=${longest}`;

// Sends a photo; `progress` hears the share that has gone. (fetch can't tell.)
export function sendPhoto(photo, progress) {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("POST", `/api/photos?name=${encodeURIComponent(photo.name)}`);
    request.responseType = "json";
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) progress(event.loaded / event.total);
    });
    request.addEventListener("load", () => {
      if (request.status === 200) resolve(request.response);
      else reject(new Error(request.response?.error ?? `the desk answered ${request.status}`));
    });
    request.addEventListener("error", () =>
      reject(new Error(`${photo.name} didn’t reach the desk: is it too large, or the desk closed?`)));
    request.send(photo);
  });
}
