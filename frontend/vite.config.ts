import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig } from 'vitest/config'
import { POSE_FILES, poseFiles, QUICK_FILES } from './pose-files.ts'

// NETREEL_SERVER: where `npm run dev` finds the server.
const server = process.env.NETREEL_SERVER ?? 'http://127.0.0.1:8044'

export default defineConfig({
  plugins: [svelte(), poseFiles()],
  define: { __POSE_FILES__: JSON.stringify(POSE_FILES), __QUICK_FILES__: JSON.stringify(QUICK_FILES) },
  server: { proxy: { '/api': { target: server, changeOrigin: true } } },
  build: {
    // Browsers that know light-dark(), <dialog> and :has().
    target: ['chrome123', 'safari17.5', 'firefox121'],
    // The Content-Security-Policy allows no data: fonts or scripts.
    assetsInlineLimit: 0,
    reportCompressedSize: false,
    license: { fileName: 'licences.md' },
    rolldownOptions: { input: { index: 'index.html', pose: 'pose.html' } },
  },
  test: {
    environment: 'node',
    include: ['src/**/*.test.ts'],
    // The plugin compiles runes in *.svelte.ts for the browser; tests need that build of svelte too.
    server: { deps: { inline: [/svelte/] } },
  },
  resolve: process.env.VITEST ? { conditions: ['browser'] } : {},
})
