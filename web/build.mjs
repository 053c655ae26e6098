// Bundle the page's scripts into the package; run by `make page`.
import { build } from "esbuild";

await build({
  entryPoints: ["src/page.ts", "src/part.ts"],
  outdir: "../src/jawright/doors/web/static",
  bundle: true,
  minify: true,
  format: "esm",
  target: "es2022",
  legalComments: "inline",
  logLevel: "warning",
});
