// SPDX-License-Identifier: MIT
import {defineConfig} from 'vite';

// One script, one style sheet, no assets from anywhere else: the station serves them from its own memory.
export default defineConfig({
  esbuild: {jsx: 'automatic', jsxImportSource: 'preact'},
  build: {
    outDir: 'dist',
    emptyOutDir: true,
    assetsInlineLimit: 0,
    cssCodeSplit: false,
    modulePreload: false,
    rollupOptions: {
      output: {entryFileNames: 'panel.js', assetFileNames: 'panel[extname]', inlineDynamicImports: true},
    },
  },
});
