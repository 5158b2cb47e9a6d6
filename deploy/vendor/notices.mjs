// Licence texts of every package that esbuild put into the bundle, by package name.
import { existsSync, readFileSync, readdirSync } from "node:fs";

const bundled = Object.keys(JSON.parse(readFileSync(process.argv[2], "utf8")).inputs);
const packages = new Set();
for (const path of bundled) {
  const found = /^node_modules\/((?:@[^/]+\/)?[^/]+)\//.exec(path);
  if (found) packages.add(found[1]);
}
console.log("charts-vendor.js contains these packages, each under its own licence.");
for (const name of [...packages].sort()) {
  const folder = `node_modules/${name}`;
  const about = JSON.parse(readFileSync(`${folder}/package.json`, "utf8"));
  const file = readdirSync(folder).find((entry) => /^licen[cs]e(\.|$)/i.test(entry));
  if (!file || !existsSync(`${folder}/${file}`)) throw new Error(`no licence text in ${name}`);
  console.log(`\n${"=".repeat(78)}\n${name} ${about.version} (${about.license})\n`);
  console.log(readFileSync(`${folder}/${file}`, "utf8").trim());
}
