import { exportFormats } from '../evidence/export/formats.ts';
import { withExported } from '../evidence/export/tables.ts';
import type { Dwelling, Store } from '../store/port.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';

interface ExportParts {
  readonly store: Store;
  readonly dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>;
}

/** Readings and hours as files, written as they are sent. */
export function exportHandlers({ store, dwellingOf }: ExportParts): Pick<Handlers, 'exportRows'> {
  return {
    async exportRows({ params, query: { what, format, from, to } }) {
      const dwelling = await dwellingOf(params);
      const span = {
        from: from === undefined ? 0 : Date.parse(from),
        to: to === undefined ? Number.POSITIVE_INFINITY : Date.parse(to),
      };
      if (!(span.from >= 0 && span.from < span.to)) {
        throw new RequestProblem('bad-request', 'The span must begin in 1970 or later, and end after it begins.', [
          { pointer: '/to', detail: 'must be later than from' },
        ]);
      }
      const { ending, type, write } = exportFormats[format];
      const dates = [from, to].map((one) => (one === undefined ? '' : `-${new Date(one).toISOString().slice(0, 10)}`));
      return {
        type,
        name: `coomb-${what}-${dwelling.slug}${dates.join('')}.${ending}`,
        pieces: withExported(store, dwelling, what, span, write),
      };
    },
  };
}
