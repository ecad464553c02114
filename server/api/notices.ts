import { DateTime } from 'luxon';
import { severities } from '../analysis/delivery-vocabulary.ts';
import { noticeText } from '../analysis/watch/say-notice.ts';
import {
  type WatchField,
  type WatchOverrides,
  type WatchSettings,
  watchFields,
  watchSettingsOf,
} from '../analysis/watch/settings.ts';
import { type WatchRule, watchRules } from '../analysis/watch/watch-event.ts';
import type { Dwelling, Store, WatchNotice } from '../store/port.ts';
import type { HomeNames } from '../watch/compose-message.ts';
import { homeNames } from '../watch/home-names.ts';
import { replayHome } from '../watch/replay.ts';
import type { NoticeWire, WatchRulesChange, WatchRuleWire } from './contract/notices.ts';
import type { LiveHub } from './live.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

export interface NoticeParts {
  readonly store: Store;
  readonly clock: () => number;
  readonly live: Pick<LiveHub, 'publish'>;
  readonly dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>;
}

const PAST_SHOWN = 50;
/** Rules that look things up at every moment: too slow for a preview. */
const notPreviewed: readonly WatchRule[] = ['condensation-ahead', 'sensor-trouble'];

type NoticeOperations =
  | 'listNotices'
  | 'acknowledgeNotice'
  | 'snoozeNotice'
  | 'getWatchRules'
  | 'changeWatchRules'
  | 'previewWatchRules';

/** Notices, what became of them, and the rules that find them. */
export function noticeHandlers({ store, clock, live, dwellingOf }: NoticeParts): Pick<Handlers, NoticeOperations> {
  const changed = async (dwelling: Dwelling, notice: WatchNotice): Promise<NoticeWire> => {
    live.publish(dwelling.id, { name: 'notice', data: {} });
    return noticeView(notice, await homeNames(store, dwelling));
  };
  return {
    async listNotices({ params, query }) {
      const dwelling = await dwellingOf(params);
      const [open, past, progress, names] = await Promise.all([
        store.openNotices(dwelling.id),
        query.past === 0 ? [] : store.pastNotices(dwelling.id, query.past ?? PAST_SHOWN),
        store.watchProgress(dwelling.id),
        homeNames(store, dwelling),
      ]);
      return {
        current: open.sort(gravestFirst).map((one) => noticeView(one, names)),
        past: past.map((one) => noticeView(one, names)),
        watchedTo: progress.evaluatedTo === null ? null : toInstant(progress.evaluatedTo),
      };
    },

    async acknowledgeNotice({ params }) {
      const dwelling = await dwellingOf(params);
      return changed(dwelling, await store.acknowledgeNotice(dwelling.id, params.id, clock()));
    },

    async snoozeNotice({ params, body }) {
      const dwelling = await dwellingOf(params);
      const until = body.until === null ? null : Date.parse(body.until);
      if (until !== null && until <= clock()) {
        throw new RequestProblem('bad-request', 'The reminders can only rest until a time that is still to come.', [
          { pointer: '/until', detail: 'must lie in the future' },
        ]);
      }
      return changed(dwelling, await store.snoozeNotice(dwelling.id, params.id, until));
    },

    async getWatchRules({ params }) {
      const dwelling = await dwellingOf(params);
      return rulesView(watchSettingsOf(await store.watchOverrides(dwelling.id)));
    },

    async changeWatchRules({ params, body }) {
      const dwelling = await dwellingOf(params);
      const overrides = laidOver(await store.watchOverrides(dwelling.id), body);
      const settings = watchSettingsOf(overrides);
      await store.changeWatchOverrides(dwelling.id, overrides);
      return rulesView(settings);
    },

    async previewWatchRules({ params, body }) {
      const dwelling = await dwellingOf(params);
      const own = await store.watchOverrides(dwelling.id);
      const asTheyAre = watchSettingsOf(own);
      const asSent = watchSettingsOf(laidOver(own, body));
      const { from, to } = lastWinter(clock(), dwelling.zone);
      const countsOf = async (settings: WatchSettings): Promise<Map<WatchRule, number>> => {
        const { notices } = await replayHome(dwelling, {
          store,
          from,
          to,
          settings: withoutLookups(settings),
          recipients: [],
          findings: async () => [],
          nights: async () => [],
        });
        const counts = new Map<WatchRule, number>();
        for (const { rule } of notices) counts.set(rule, (counts.get(rule) ?? 0) + 1);
        return counts;
      };
      const now = await countsOf(asTheyAre);
      const changedCounts = await countsOf(asSent);
      return {
        from: toInstant(from),
        to: toInstant(to),
        rules: watchRules
          .filter((code) => !notPreviewed.includes(code))
          .map((code) => ({ code, now: now.get(code) ?? 0, changed: changedCounts.get(code) ?? 0 })),
        leftOut: [...notPreviewed],
      };
    },
  };
}

const gravestFirst = (a: WatchNotice, b: WatchNotice): number =>
  severities.indexOf(b.severity) - severities.indexOf(a.severity) || b.knownAt - a.knownAt;

function noticeView(notice: WatchNotice, names: HomeNames): NoticeWire {
  const instantOf = (time: number | null): string | null => (time === null ? null : toInstant(time));
  const { title, what, since, howSure, whatToDo, cautions } = noticeText(notice, names);
  return {
    id: notice.id,
    code: notice.rule,
    placeId: notice.placeId,
    place: notice.placeId === null ? null : names.place(notice.placeId),
    room: notice.placeId === null ? null : names.roomOf(notice.placeId),
    sensorId: notice.sensorId,
    detail: notice.detail,
    severity: notice.severity,
    begunAt: toInstant(notice.begunAt),
    endedAt: instantOf(notice.endedAt),
    endReason: notice.endReason,
    withdrawn: notice.withdrawnAt !== null,
    chance: notice.chance,
    data: { ...notice.data },
    title,
    what,
    since,
    howSure,
    whatToDo: [...whatToDo],
    cautions: cautions.map(({ code, message }) => ({ code, message })),
    acknowledgedAt: instantOf(notice.acknowledgedAt),
    snoozedUntil: instantOf(notice.snoozedUntil),
    told: Object.keys(notice.told).length,
  };
}

const rulesView = (settings: WatchSettings): { rules: WatchRuleWire[] } => ({
  rules: watchRules.map((code) => {
    const fields: Readonly<Record<string, WatchField>> = watchFields[code];
    const own = settings[code] as Readonly<Record<string, number | boolean>>;
    return {
      code,
      on: settings[code].on,
      settings: Object.entries(fields).map(([name, { value: usual, low, high, step, unit }]) => ({
        name,
        value: Number(own[name]),
        usual,
        low,
        high,
        step,
        unit,
      })),
    };
  }),
});

function laidOver(own: WatchOverrides, change: WatchRulesChange): WatchOverrides {
  return Object.fromEntries(
    watchRules.flatMap((rule) => {
      const both = { ...own[rule], ...change[rule] };
      return Object.keys(both).length === 0 ? [] : [[rule, both]];
    }),
  );
}

function withoutLookups(settings: WatchSettings): WatchSettings {
  const off = notPreviewed.map((rule) => [rule, { ...settings[rule], on: false }]);
  return { ...settings, ...Object.fromEntries(off) } as WatchSettings;
}

/** October to April: the winter that is running, or the last one. UTC milliseconds. */
function lastWinter(now: number, zone: string): { from: number; to: number } {
  const local = DateTime.fromMillis(now, { zone });
  // a winter of less than a month says little
  const year = local.month >= 11 ? local.year : local.year - 1;
  const from = DateTime.fromObject({ year, month: 10, day: 1 }, { zone });
  return { from: from.toMillis(), to: Math.min(now, from.plus({ months: 7 }).toMillis()) };
}
