import { createCanvas, loadImage } from '@napi-rs/canvas';
import type { CleanedPicture, CleanReply } from './clean.ts';

/** Longest side, px. */
const LONGEST = { full: 2000, thumbnail: 400 };
const QUALITY = { full: 84, thumbnail: 78 };

process.on('message', async (bytes: Uint8Array) => {
  process.send!(await answer(bytes));
});
// the program that asked has gone
process.on('disconnect', () => process.exit());

async function answer(bytes: Uint8Array): Promise<CleanReply> {
  try {
    return { picture: await cleaned(bytes) };
  } catch (error) {
    return { error: (error as Error).message };
  }
}

/** Decodes a picture, turned the right way up, and writes its pixels, and nothing else, as new JPEG files. */
async function cleaned(bytes: Uint8Array): Promise<CleanedPicture> {
  const image = await loadImage(Buffer.from(bytes));
  const drawn = (size: keyof typeof LONGEST) => {
    const scale = Math.min(1, LONGEST[size] / Math.max(image.width, image.height));
    const width = Math.max(1, Math.round(image.width * scale));
    const height = Math.max(1, Math.round(image.height * scale));
    const canvas = createCanvas(width, height);
    const pen = canvas.getContext('2d');
    // what is transparent lies on paper
    pen.fillStyle = '#fff';
    pen.fillRect(0, 0, width, height);
    pen.imageSmoothingQuality = 'high';
    pen.drawImage(image, 0, 0, width, height);
    return canvas;
  };
  const full = drawn('full');
  return {
    width: full.width,
    height: full.height,
    full: await full.encode('jpeg', QUALITY.full),
    thumbnail: await drawn('thumbnail').encode('jpeg', QUALITY.thumbnail),
  };
}
