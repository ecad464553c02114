import { createHash } from 'node:crypto';
import type { Plugin } from 'vite';

const PUBLIC = ['mark.svg', 'manifest.webmanifest'];

/** Tells the service worker every file of this version of the page, and the version: a digest of them all. */
export function shellList(worker: string): Plugin {
  return {
    name: 'coomb-shell-list',
    apply: 'build',
    enforce: 'post',
    generateBundle(_, bundle) {
      const chunk = bundle[worker];
      if (chunk?.type !== 'chunk') throw new Error(`${worker} was not built`);
      const digest = createHash('sha256');
      const files = Object.keys(bundle)
        .filter((name) => name !== worker && !name.endsWith('.html') && !name.endsWith('.map'))
        .sort();
      for (const name of [...files, 'index.html']) {
        const file = bundle[name];
        digest.update(name);
        if (file !== undefined) digest.update(file.type === 'chunk' ? file.code : file.source);
      }
      const list = [digest.digest('hex').slice(0, 12), ...[...files, ...PUBLIC].map((name) => `/${name}`)].join(' ');
      const code = chunk.code.replace(/["'`]%SHELL%["'`]/, JSON.stringify(list));
      if (code === chunk.code) throw new Error(`${worker} has no place for the list of files`);
      chunk.code = code;
    },
  };
}
