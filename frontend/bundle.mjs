// Bundle the third-party code into the package: node bundle.mjs OUTPUT
import { build } from "esbuild";
import { readFileSync, readdirSync, writeFileSync, existsSync } from "node:fs";
import { join } from "node:path";

const output = process.argv[2] ?? "../src/fiddlehead/web/static/vendor";
const names = ["preact", "three", "echarts"];

const built = await build({
  entryPoints: names.map((name) => `vendor/${name}.js`),
  outdir: output,
  bundle: true,
  minify: true,
  format: "esm",
  target: "es2022",
  legalComments: "none",
  metafile: true,
});

// Licences of every package whose code went in, in full.
const packages = new Set();
for (const { inputs } of Object.values(built.metafile.outputs))
  for (const file of Object.keys(inputs)) {
    const found = file.match(/node_modules\/((?:@[^/]+\/)?[^/]+)\//);
    if (found) packages.add(found[1]);
  }
const parts = [...packages].sort().map((name) => {
  const folder = join("node_modules", name);
  const about = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
  const texts = readdirSync(folder, { withFileTypes: true })
    .filter((entry) => /^(licen[cs]es?|notice|copying)/i.test(entry.name))
    .flatMap((entry) =>
      entry.isDirectory() ? readdirSync(join(folder, entry.name)).map((f) => join(entry.name, f)) : [entry.name])
    .sort()
    .map((file) => readFileSync(join(folder, file), "utf8").trim());
  if (texts.length === 0) throw new Error(`${name} came without its licence text`);
  return `${name} ${about.version} (${about.license})\n\n${texts.join("\n\n")}`;
});
writeFileSync(join(output, "LICENSES.txt"), parts.join(`\n\n${"=".repeat(80)}\n\n`) + "\n");
if (!existsSync(join(output, "preact.js"))) throw new Error("nothing was built");
