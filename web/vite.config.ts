import { fileURLToPath } from 'node:url';
import preact from '@preact/preset-vite';
import { defineConfig } from 'vite';

/** The page is served by the same process as the API; in development it asks a running server through this proxy. */
export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  plugins: [preact()],
  build: {
    outDir: fileURLToPath(new URL('../dist/web', import.meta.url)),
    emptyOutDir: true,
    // The page's policy allows nothing inline, so that no asset may become a data: address.
    assetsInlineLimit: 0,
    target: 'es2022',
  },
  server: { proxy: { '/api': 'http://127.0.0.1:8080' } },
});
