import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vite";

// The policy of the pages forbids inline scripts and styles, so nothing may be put into the page itself.
export default defineConfig({
  plugins: [svelte()],
  build: {
    outDir: "../src/overarm/app/pages",
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: "es2023",
  },
});
