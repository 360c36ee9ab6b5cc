// Where forms wait in this browser: one object store, a form under its uuid.
const FORMS = "forms";

const answered = (asked) => new Promise((resolve, reject) => {
  asked.onsuccess = () => resolve(asked.result);
  asked.onerror = () => reject(asked.error);
});

const opened = (name) => {
  const asked = indexedDB.open(name, 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore(FORMS, { keyPath: "client_uuid" });
  return answered(asked);
};

/** The store of that name; it is opened for each step, so that nothing holds it open when the device is emptied. */
export function formStore(name) {
  const step = async (mode, work) => {
    const database = await opened(name);
    try {
      return await answered(work(database.transaction(FORMS, mode).objectStore(FORMS)));
    } finally {
      database.close();
    }
  };
  return {
    all: () => step("readonly", (forms) => forms.getAll()),
    get: (uuid) => step("readonly", (forms) => forms.get(uuid)),
    put: (form) => step("readwrite", (forms) => forms.put(form)),
    remove: (uuid) => step("readwrite", (forms) => forms.delete(uuid)),
  };
}
