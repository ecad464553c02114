import { createWriteStream } from 'node:fs';
import { rename, rm } from 'node:fs/promises';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import { dayOf, dayText } from '../store/canonical.ts';
import type { Store } from '../store/port.ts';
import { type PackMember, writeBag } from './bag.ts';
import { checkScript } from './check-script.ts';
import type { Covering } from './covering.ts';
import { type Figure, figuresOf } from './figures.ts';
import { fingerprintOf, installKey } from './key.ts';
import { packMembers, readingPages } from './members.ts';
import { readmeText } from './readme.ts';
import { rebuild, type StoreOpener } from './rebuilt.ts';
import { type Results, readResults } from './results.ts';
import { type PackScope, readContents } from './scope.ts';

/** Where making a pack is: the step, and how far it is, 0 to 1. */
export interface PackProgress {
  readonly step: 'copying' | 'hours' | 'figures' | 'writing';
  readonly share: number;
}

/** What whoever adds members of their own (a report) is given. */
export interface ReportGiven {
  readonly scope: PackScope;
  readonly results: Results;
  readonly figures: readonly Figure[];
  /** the store that the figures were worked out of */
  readonly store: Store;
  /** the store that is packed: photos */
  readonly source: Store;
  readonly covering: Covering;
  readonly fingerprint: string;
  readonly version: string;
}

export interface PackParts {
  readonly store: Store;
  /** opens the store that is made of the pack's own contents */
  readonly openStore: StoreOpener;
  /** holds the signing key */
  readonly dataFolder: string;
  readonly version: string;
  /** UTC milliseconds: stated as the time of signing, and nowhere else */
  readonly now: number;
  readonly onProgress?: (progress: PackProgress) => void;
  /** more members, e.g. a report that prints the figures */
  readonly report?: (given: ReportGiven) => Promise<readonly PackMember[]>;
}

export interface PackMade {
  readonly fingerprint: string;
  readonly figures: number;
  readonly readings: number;
}

/**
 * Makes an evidence pack. The figures are worked out from what is in the pack and nothing else. The file appears under its
 * name when it is whole.
 *
 * @throws RangeError where the scope cannot be packed
 */
export async function buildPack(parts: PackParts, scope: PackScope, file: string): Promise<PackMade> {
  const { store, openStore, dataFolder, version, now, onProgress = () => {} } = parts;
  const contents = await readContents(store, scope);
  const { dwelling } = contents;
  const total = await store.countReadings(dwelling.id);
  let readings = 0;
  const rebuilt = await rebuild(
    openStore,
    contents,
    async function* ({ id, windows }) {
      for (const [from, to] of windows) yield* readingPages(store, dwelling.id, id, from, to);
    },
    (count) => {
      readings += count;
      onProgress({ step: 'copying', share: Math.min(1, readings / total) });
    },
    (share) => onProgress({ step: 'hours', share }),
  );
  try {
    const lookedTo = Math.min(scope.to, Math.floor(now / HOUR_MS) * HOUR_MS);
    onProgress({ step: 'figures', share: 0 });
    const results = await readResults(rebuilt.store, dwelling, lookedTo);
    const figures = figuresOf(results);
    const key = installKey(dataFolder);
    const fingerprint = fingerprintOf(key);
    const covering = {
      sealing: await store.sealing(dwelling.id),
      seals: await store.daySeals(dwelling.id, 0, Number.POSITIVE_INFINITY),
      faults: await store.checkSeals(dwelling.id),
      from: scope.from,
      to: scope.to,
    };
    const report = parts.report
      ? await parts.report({
          scope,
          results,
          figures,
          store: rebuilt.store,
          source: store,
          covering,
          fingerprint,
          version,
        })
      : [];
    const members = await packMembers(
      { source: store, rebuilt: rebuilt.store, contents, scope, results, figures, covering, version },
      report,
    );
    let written = 0;
    const counted = members.map((member) => ({
      ...member,
      contents() {
        onProgress({ step: 'writing', share: written++ / members.length });
        return member.contents();
      },
    }));
    const partial = `${file}.part`;
    try {
      await writeBag(
        createWriteStream(partial),
        `coomb-evidence-${dwelling.slug}`,
        counted,
        [
          { path: 'README.txt', contents: () => [readmeText(dwelling.name, fingerprint)] },
          { path: 'check.py', contents: () => [checkScript()] },
        ],
        [
          ['Bag-Software-Agent', `coomb ${version}`],
          ['External-Identifier', dwelling.slug],
          ['External-Description', `Readings ${dayText(dayOf(scope.from))} to ${dayText(dayOf(scope.to - 1))}`],
          // the last day it speaks of: the day it was made is in the signed statement, so that the bag stays the same
          ['Bagging-Date', dayText(dayOf(scope.to - 1))],
        ],
        { key, at: now },
      );
      await rename(partial, file);
    } catch (error) {
      await rm(partial, { force: true });
      throw error;
    }
    return { fingerprint, figures: figures.length, readings };
  } finally {
    await rebuilt.close();
  }
}
