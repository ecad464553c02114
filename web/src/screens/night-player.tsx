import type { ComponentChildren } from 'preact';
import { useEffect, useLayoutEffect, useRef, useState } from 'preact/hooks';
import type { Night } from '../../../server/api/contract/played-night.ts';
import { choose, query, withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { ThroughCeiling } from '../drawing/through-ceiling.tsx';
import { useHome } from '../home.ts';
import { dayAfter, placesInHour, type ShownNight, tonesOf } from '../night/view-model.ts';
import { Empty, Show } from '../parts/notice.tsx';
import { SectionHead } from '../parts/section-head.tsx';
import { SectionSheet } from '../parts/section-sheet.tsx';
import { wallOf } from '../time/zone.ts';
import { number, when } from '../words/format.ts';
import { saidFirst } from '../words/say-first.ts';
import { sectionWords } from '../words/section.ts';
import { words } from '../words/words.ts';

const t = sectionWords.night;
const HOUR_MS = 3_600_000;
const STEP_MS = 900;

const prefersStill = (): boolean => matchMedia('(prefers-reduced-motion: reduce)').matches;

/** Any night, hour by hour: the drawing shows the hour that the slider stands at. */
export function NightPlayer(props: { choice: ComponentChildren }) {
  const home = useHome();
  const asked = query.value.get('night') ?? 'last';
  const { loaded, again } = useLoad(`night ${home.slug} ${asked}`, revisions.hours.value, (signal) =>
    call('getNight', { params: { dwelling: home.slug, night: asked } }, signal),
  );
  const night = loaded.kind === 'loading' ? null : loaded.value;
  const [hour, setHour] = useState(0);
  const shownHour = night === null ? 0 : Math.min(hour, night.hours - 1);
  const nightKey = night?.night ?? null;
  // A night opens at the hour that matters: the worst one, before it is seen and before a key can move it.
  useLayoutEffect(() => {
    if (night !== null) setHour(worstHour(night));
  }, [nightKey]);
  const head = night?.headlines[shownHour];
  return (
    <>
      <SectionHead
        headline={head === undefined ? words.loading : saidFirst.headline(head)}
        detail={head === undefined ? '' : saidFirst.detail(head)}
        restsOn={night === null ? '' : `${t.hour(hourWords(home.zone, night, shownHour))} ${t.mean}`}
        spoken="off"
      />
      {props.choice}
      <Show loaded={loaded} again={again} room="screen">
        {(value) =>
          value.firstNight === null ? (
            <Empty
              title={t.none}
              next={
                <a class="no-print" href={withDwelling('/sensors')}>
                  {t.noneNext}
                </a>
              }
            />
          ) : (
            <>
              <Scrubber night={value} hour={shownHour} setHour={setHour} />
              <SectionSheet places={placesInHour(value, shownHour)} section={home.section} />
              <ThroughCeiling places={placesInHour(value, shownHour)} lined={home.section.liningThicknessMm > 0} />
            </>
          )
        }
      </Show>
    </>
  );
}

function worstHour(night: Night): number {
  const rank = { act: 3, watch: 2, quiet: 1, unknown: 0 } as const;
  const tones = tonesOf(night);
  const margins = Array.from({ length: night.hours }, (_, i) =>
    Math.min(...night.places.map(({ figures }) => figures.margin.values[i] ?? Number.POSITIVE_INFINITY)),
  );
  let worst = 0;
  for (let i = 1; i < night.hours; i++) {
    const better = rank[tones[i]!] - rank[tones[worst]!];
    if (better > 0 || (better === 0 && margins[i]! < margins[worst]!)) worst = i;
  }
  return worst;
}

/** The home's own clock; an hour that the clock shows twice says so the second time. */
function hourWords(zone: string, night: Night, hour: number): string {
  const at = Date.parse(night.start) + hour * HOUR_MS;
  const text = when(zone, at, 'moment');
  return wallOf(zone, at) === wallOf(zone, at - HOUR_MS) ? t.second(text) : text;
}

function Scrubber(props: { night: ShownNight; hour: number; setHour: (change: (hour: number) => number) => void }) {
  const { night, hour, setHour } = props;
  const home = useHome();
  const [playing, setPlaying] = useState(false);
  const still = useRef(prefersStill()).current;
  const last = night.hours - 1;
  const go = (to: number) => setHour(() => Math.min(last, Math.max(0, to)));
  // a tick between the pause and the next frame would go one hour on
  useLayoutEffect(() => {
    if (!playing) return;
    const timer = setInterval(() => setHour((now) => Math.min(last, now + 1)), STEP_MS);
    return () => clearInterval(timer);
  }, [playing, last]);
  useEffect(() => {
    if (playing && hour >= last) setPlaying(false);
  }, [playing, hour, last]);
  const act = () => {
    if (still) return go(hour >= last ? 0 : hour + 1);
    if (!playing && hour >= last) go(0);
    setPlaying(!playing);
  };
  const label = hourWords(home.zone, night, hour);
  const open = (date: string) => {
    setPlaying(false);
    choose({ night: date });
  };
  return (
    <div class="scrubber">
      <div class="choices">
        <label>
          {t.choose}{' '}
          <input
            type="date"
            value={night.night}
            min={night.firstNight ?? undefined}
            max={night.lastNight ?? undefined}
            onChange={(event) => {
              if (event.currentTarget.value !== '') open(event.currentTarget.value);
            }}
          />
        </label>
        <span class="buttons">
          <Neighbour night={night} by={-1} open={open} />
          <Neighbour night={night} by={1} open={open} />
        </span>
      </div>
      <p class="small night-summary">{summaryWords(night)}</p>
      <div class="track">
        <Strip night={night} hour={hour} />
        <input
          type="range"
          aria-label={t.slider}
          aria-valuetext={`${label}: ${night.headlines[hour] === undefined ? '' : saidFirst.headline(night.headlines[hour])}`}
          min={0}
          max={last}
          step={1}
          // from the middle of the first hour's bar to the middle of the last one's
          style={{
            width: `calc(100% * ${last / night.hours} + 1.1rem)`,
            marginLeft: `calc(100% / ${2 * night.hours} - 0.55rem)`,
          }}
          value={hour}
          onInput={(event) => {
            setPlaying(false);
            go(Number(event.currentTarget.value));
          }}
          onKeyDown={(event) => {
            if (event.key !== ' ') return;
            event.preventDefault();
            act();
          }}
        />
      </div>
      <div class="choices no-print">
        <button type="button" onClick={act}>
          {still ? t.step : playing ? t.pause : t.play}
        </button>
        <output>{label}</output>
      </div>
      <p class="small no-print">{still ? t.keysStill : t.keys}</p>
      <p class="small">{t.strip}</p>
    </div>
  );
}

function Neighbour(props: { night: ShownNight; by: 1 | -1; open: (date: string) => void }) {
  const { night, by } = props;
  const date = dayAfter(night.night, by);
  const isThere = by === -1 ? date >= (night.firstNight ?? '') : date <= (night.lastNight ?? '');
  return (
    <button type="button" aria-disabled={!isThere} onClick={() => isThere && props.open(date)}>
      {by === -1 ? t.earlier : t.later}
    </button>
  );
}

const hoursWords = (count: number): string => t.hours(number(count));

function summaryWords(night: ShownNight): string {
  const surfaces = night.places.filter(({ kind }) => kind === 'ceiling-surface' || kind === 'control-surface');
  const count = (code: string) =>
    Array.from({ length: night.hours }, (_, i) => surfaces.some(({ states }) => states[i]?.code === code)).filter(
      (has) => has,
    ).length;
  const [condensing, risk] = [count('condensing'), count('risk')];
  const judged = surfaces.some(({ figures }) => figures.margin.values.some((value) => value !== null));
  const said = !judged
    ? t.unknown
    : condensing + risk === 0
      ? t.quiet
      : `${sentence(t.summary(hoursWords(condensing), hoursWords(risk)))}.`;
  return night.hours === 24 ? said : `${said} ${t.changes(number(night.hours))}`;
}

const sentence = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** The worst state of any surface in each hour, told by height as well as by hue; nightfall to morning is shaded. */
function Strip(props: { night: ShownNight; hour: number }) {
  const { night, hour } = props;
  const tones = tonesOf(night);
  const start = Date.parse(night.start);
  const at = (instant: string) => (Date.parse(instant) - start) / HOUR_MS;
  const heights = { act: 30, watch: 19, quiet: 8, unknown: 8 } as const;
  return (
    <svg class="strip" viewBox={`0 0 ${night.hours * 10} 34`} preserveAspectRatio="none" aria-hidden="true">
      <rect
        class="strip-night"
        x={at(night.nightFrom) * 10}
        y={0}
        width={(at(night.nightTo) - at(night.nightFrom)) * 10}
        height={34}
      />
      {tones.map((tone, i) => (
        <rect
          key={i}
          class={`strip-hour tone-${tone}${i === hour ? ' is-shown' : ''}`}
          x={i * 10 + 1}
          y={33 - heights[tone]}
          width={8}
          height={heights[tone]}
        />
      ))}
    </svg>
  );
}
