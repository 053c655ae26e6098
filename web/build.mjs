// Bundle the page's scripts into the package; run by `make page`.
import { readdirSync, rmSync } from "node:fs";
import { build } from "esbuild";

const out = "../src/jawright/doors/web/static";
for (const name of readdirSync(out)) if (name.endsWith(".js")) rmSync(`${out}/${name}`);
// what several pages need, above all the 3-D library, becomes one file that all of them share
await build({
  entryPoints: ["src/page.ts", "src/part.ts", "src/sheet.ts", "src/view.ts"],
  outdir: out,
  bundle: true,
  splitting: true,
  chunkNames: "shared-[hash]",
  minify: true,
  format: "esm",
  target: "es2022",
  legalComments: "inline",
  logLevel: "warning",
});
