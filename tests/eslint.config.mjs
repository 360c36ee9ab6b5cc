// The lint of the pages' scripts and of their tests: script/check calls it.
import js from "@eslint/js";
import globals from "globals";

const strict = {
  ...js.configs.recommended.rules,
  "consistent-return": "error",
  curly: ["error", "multi-line"],
  eqeqeq: "error",
  "max-depth": ["error", 3],
  "max-len": ["error", { code: 120 }],
  "max-lines": ["error", 300],
  "max-lines-per-function": ["error", 40],
  "max-params": ["error", 5],
  "no-shadow": "error",
  "no-use-before-define": ["error", { functions: false, variables: false }],
  "no-var": "error",
  "object-shorthand": "error",
  "prefer-const": "error",
  "prefer-template": "error",
};

const linted = (files, names, { sourceType = "module", ...rules } = {}) => ({
  files, rules: { ...strict, ...rules }, languageOptions: { globals: names, sourceType },
});
const ofBrowser = { ...globals.browser };
delete ofBrowser.name; // a word of ours: a variable left out by mistake must not be the window's
delete ofBrowser.event;

export default [
  { ignores: ["**/node_modules/**", ".venv/**", "demo-out/**", "static-root/**", "var/**"] },
  linted(["**/static/**/*.js"], ofBrowser),
  linted(["templates/**/*.js"], globals.serviceworker, { sourceType: "script" }),
  // A file's worth of tests is no function that grew.
  linted(["tests/**/*.mjs"], { ...globals.node }, { "max-lines-per-function": "off" }),
];
