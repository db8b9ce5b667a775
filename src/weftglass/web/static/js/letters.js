// Talking with the collection: JSON in and out, one error shape, one polite announcer.

/** What the collection refused or could not do, in its own sentence. */
export class Refused extends Error {
  constructor(error) {
    super(error.sentence);
    this.status = error.status;
    this.field = error.field;
  }
}

/** Fetch JSON; a refusal or a broken line becomes a `Refused` with a sentence for people. */
export async function ask(address, body = undefined, signal = undefined) {
  const options = { headers: { Accept: "application/json" }, signal };
  if (body instanceof FormData) Object.assign(options, { method: "POST", body });
  else if (body !== undefined) {
    Object.assign(options, { method: "POST", body: JSON.stringify(body) });
    options.headers["Content-Type"] = "application/json";
  }
  let reply;
  try {
    reply = await fetch(address, options);
  } catch (fault) {
    if (fault.name === "AbortError") throw fault;
    throw new Refused({ sentence: "The collection does not answer; is the program still running? Nothing was saved.", status: 0 });
  }
  const told = await reply.json().catch(() => null);
  if (!reply.ok || told === null) {
    throw new Refused(told?.error ?? { sentence: "The answer could not be read. Nothing was saved.", status: reply.status });
  }
  return told;
}

/** Say something to people who listen rather than look. */
export function announce(sentence) {
  const place = document.getElementById("announce");
  if (place) place.textContent = sentence;
}

/** Show a status line; mood is "", "good" or "bad". */
export function say(place, sentence, mood = "") {
  place.textContent = sentence;
  place.dataset.mood = mood;
}
