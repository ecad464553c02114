import type { Plugin, Rollup } from 'vite';

/**
 * Names what the first screen is made of in the document itself, so that the browser fetches it together with the script
 * that asks for it, and not one after the other.
 */
export function preloadFirst(part: string): Plugin {
  return {
    name: 'coomb-preload-first',
    apply: 'build',
    transformIndexHtml: {
      order: 'post',
      handler(html, { bundle }) {
        const chunks = Object.values(bundle ?? {}).filter((file): file is Rollup.OutputChunk => file.type === 'chunk');
        const first = chunks.find(({ facadeModuleId }) => facadeModuleId?.endsWith(part));
        if (first === undefined) throw new Error(`${part} was not built as a part of its own`);
        const wanted = new Set<Rollup.OutputChunk>();
        const add = (chunk: Rollup.OutputChunk | undefined): void => {
          if (chunk === undefined || wanted.has(chunk)) return;
          wanted.add(chunk);
          for (const name of chunk.imports) add(chunks.find(({ fileName }) => fileName === name));
        };
        add(first);
        const fresh = (name: string): boolean => !html.includes(`/${name}"`);
        const tag = (rel: string, name: string) => ({
          tag: 'link',
          attrs: { rel, crossorigin: true, href: `/${name}` },
          injectTo: 'head' as const,
        });
        const styles = new Set([...wanted].flatMap((chunk) => [...(chunk.viteMetadata?.importedCss ?? [])]));
        return [
          ...[...wanted]
            .filter(({ fileName }) => fresh(fileName))
            .map(({ fileName }) => tag('modulepreload', fileName)),
          ...[...styles].filter(fresh).map((name) => tag('stylesheet', name)),
        ];
      },
    },
  };
}
