import { preact } from '@preact/preset-vite';
import { defineConfig } from 'vite';
import { VitePWA } from 'vite-plugin-pwa';

// The server during development: `threshday serve --demo`.
const server = 'http://127.0.0.1:7080';
const served = ['/api', '/print', '/threshday.wasm', '/wasm_exec.js'];

export default defineConfig({
  plugins: [
    preact(),
    VitePWA({
      registerType: 'prompt',
      injectRegister: false,
      manifest: {
        name: 'Threshday',
        short_name: 'Threshday',
        description: 'Which fields to cut, which machines go where, and where each load goes.',
        lang: 'en',
        display: 'standalone',
        start_url: '/',
        background_color: '#FAF7F0',
        theme_color: '#FAF7F0',
        icons: [
          { src: 'icon.svg', sizes: 'any', type: 'image/svg+xml', purpose: 'any' },
          { src: 'icon-512.png', sizes: '512x512', type: 'image/png', purpose: 'maskable' },
          { src: 'icon-192.png', sizes: '192x192', type: 'image/png' },
        ],
      },
      workbox: {
        globPatterns: ['**/*.{html,js,css,woff2,svg,png}'],
        globIgnores: ['icon-*.png'],
        navigateFallback: '/index.html',
        navigateFallbackDenylist: [/^\/api\//, /^\/print\//],
        // The program for the device is named alike in every version: the server's copy first, the kept one without it.
        runtimeCaching: [{ urlPattern: /\/(threshday\.wasm|wasm_exec\.js)$/, handler: 'NetworkFirst', options: { cacheName: 'program' } }],
        inlineWorkboxRuntime: true,
      },
    }),
  ],
  build: { outDir: '../internal/web/dist', emptyOutDir: true, target: 'es2022', assetsInlineLimit: 0, modulePreload: { polyfill: false } },
  server: { proxy: Object.fromEntries(served.map((path) => [path, server])) },
});
