import { readFileSync } from 'node:fs';
import { createCanvas, loadImage } from '@napi-rs/canvas';
import type { Plugin } from 'vite';

/** PNG icons for home screens, drawn from the mark at every build. A maskable one has room for any mask round it. */
const icons = [
  { name: 'icon-180.png', size: 180, share: 1 },
  { name: 'icon-192.png', size: 192, share: 1 },
  { name: 'icon-512.png', size: 512, share: 1 },
  { name: 'icon-mask-512.png', size: 512, share: 0.72 },
];
const PAPER = '#faf7f0';

export function iconsOf(mark: URL): Plugin {
  return {
    name: 'coomb-icons',
    apply: 'build',
    async generateBundle() {
      const drawing = readFileSync(mark, 'utf8');
      for (const { name, size, share } of icons) {
        const inner = Math.round(size * share);
        const sized = drawing.replace('<svg ', `<svg width="${inner}" height="${inner}" `);
        const canvas = createCanvas(size, size);
        const pen = canvas.getContext('2d');
        pen.fillStyle = PAPER;
        pen.fillRect(0, 0, size, size);
        const at = (size - inner) / 2;
        pen.drawImage(await loadImage(Buffer.from(sized)), at, at, inner, inner);
        this.emitFile({ type: 'asset', fileName: name, source: await canvas.encode('png') });
      }
    },
  };
}
