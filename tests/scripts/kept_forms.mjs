// A store of forms in memory, and a server that answers as it is told.

export function memoryStore(forms = []) {
  const kept = new Map(forms.map((form) => [form.client_uuid, form]));
  return {
    all: async () => [...kept.values()].map((form) => ({ ...form })),
    get: async (uuid) => kept.get(uuid),
    put: async (form) => { kept.set(form.client_uuid, form); },
    remove: async (uuid) => { kept.delete(uuid); },
  };
}

export const filled = (more = {}) => ({
  kind: "wishes", name: "Wishes", page: "/my/wishes/", path: "/my/wishes/", trip: "", elsewhere: undefined,
  fields: [["note", "kingfisher"]], each: false, one: false, replaced: "", ...more,
});

export const taken = (more = {}) => ({ ok: true, status: 200, json: async () => ({ taken: true, ...more }) });
export const refused = (more = {}) => ({ ok: true, status: 200, json: async () => ({ taken: false, ...more }) });
export const failed = (status) => ({ ok: false, status, json: async () => { throw new Error("no JSON"); } });

/** Answers each POST in turn by `answers` (the last for all that follow); what was asked is in the list returned. */
export function serveBy(t, ...answers) {
  const asked = [];
  t.mock.method(globalThis, "fetch", async (path, options) => {
    const answer = answers[Math.min(asked.length, answers.length - 1)];
    asked.push({ path, headers: options.headers, fields: Object.fromEntries(options.body) });
    if (answer instanceof Error) throw answer;
    return typeof answer === "function" ? answer() : answer;
  });
  return asked;
}
