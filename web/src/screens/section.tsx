import type { ComponentChildren } from 'preact';
import type { Section } from '../../../server/api/contract/dwelling.ts';
import type { Now } from '../../../server/api/contract/figures.ts';
import { choose, query, withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { later } from '../later.tsx';
import { Empty, Show } from '../parts/notice.tsx';
import { SectionHead } from '../parts/section-head.tsx';
import { SectionSheet } from '../parts/section-sheet.tsx';
import { NextList } from '../settling/next-list.tsx';
import { ago, number, quantity, when } from '../words/format.ts';
import { detailWords } from '../words/place-figures.ts';
import { saidFirst } from '../words/say-first.ts';
import { sectionWords } from '../words/section.ts';
import { words } from '../words/words.ts';
import '../style/section.css';

const NightPlayer = later(() => import('./night-player.tsx').then((m) => m.NightPlayer));
const MatchedNights = later(() => import('./matched-nights.tsx').then((m) => m.MatchedNights));
const Through = later(() => import('../drawing/through-ceiling.tsx').then((m) => m.ThroughCeiling), 'chart');
const PlaceMover = later(() => import('./place-mover.tsx').then((m) => m.PlaceMover), 'chart');

const modes = ['now', 'night', 'before', 'after'] as const;
type Mode = (typeof modes)[number];

const modeShown = (): Mode => modes.find((mode) => mode === query.value.get('show')) ?? 'now';

/** The first screen: a sentence, then the drawing with every place where it stands; now, in a night, before or after. */
export function SectionScreen() {
  const home = useHome();
  const mode = modeShown();
  const choice = <ModeChoice mode={mode} />;
  return (
    <>
      {mode === 'now' && <SectionNow choice={choice} />}
      {mode === 'night' && <NightPlayer choice={choice} />}
      {(mode === 'before' || mode === 'after') && <MatchedNights phase={mode} choice={choice} />}
      <div class="title-block">
        <p>{words.section.titleBlock(mm(home.section))}</p>
        <p>{words.section.draught}</p>
        <p>{sectionWords.trendNote}</p>
      </div>
      <Mover />
      <p class="small no-print">
        <a href={withDwelling('/settings#section')}>{words.section.measurements}</a>
      </p>
    </>
  );
}

function ModeChoice(props: { mode: Mode }) {
  return (
    <fieldset class="spans modes no-print">
      <legend>{sectionWords.show}</legend>
      {modes.map((mode) => (
        <label key={mode}>
          <input
            type="radio"
            name="mode"
            checked={mode === props.mode}
            onChange={() => choose({ show: mode === 'now' ? null : mode })}
          />{' '}
          {sectionWords.modes[mode]}
        </label>
      ))}
    </fieldset>
  );
}

function SectionNow(props: { choice: ComponentChildren }) {
  const home = useHome();
  const { loaded, again } = useLoad(`now ${home.slug}`, revisions.now.value, (signal) =>
    call('getNow', { params: { dwelling: home.slug } }, signal),
  );
  const now = loaded.kind === 'loading' ? null : loaded.value;
  return (
    <>
      <SectionHead
        headline={now == null ? words.loading : saidFirst.headline(now)}
        detail={now === null ? '' : detailWords(now)}
        restsOn={now === null ? '' : heardWords(now, home.zone)}
        spoken="polite"
      />
      {props.choice}
      <Show loaded={loaded} again={again} room="screen">
        {(value) => (
          <>
            {value.places.length === 0 && <NextList />}
            <SectionSheet places={value.places} section={home.section} />
            {value.places.length === 0 ? (
              <Empty
                title={words.section.noPlaces}
                next={
                  <a class="no-print" href={withDwelling('/sensors')}>
                    {words.section.noPlacesNext}
                  </a>
                }
              />
            ) : (
              <>
                <Through places={value.places} lined={home.section.liningThicknessMm > 0} />
                <NextList />
              </>
            )}
          </>
        )}
      </Show>
    </>
  );
}

const mm = (section: Section): Readonly<Record<keyof Section, string>> => ({
  pitchDeg: `${number(section.pitchDeg)}°`,
  slopeLengthMm: quantity(section.slopeLengthMm, 'mm', 0),
  roomHeightMm: quantity(section.roomHeightMm, 'mm', 0),
  liningThicknessMm: section.liningThicknessMm > 0 ? quantity(section.liningThicknessMm, 'mm', 0) : words.none,
  loftInsulationMm: quantity(section.loftInsulationMm, 'mm', 0),
  eavesGapMm: quantity(section.eavesGapMm, 'mm', 0),
});

function heardWords(now: Now, zone: string): string {
  const { sensors, heard, lastReading } = now.heard;
  const at = when(zone, now.time, 'moment');
  if (sensors === 0) return `${at} · ${words.section.noSensors}`;
  const all =
    heard === sensors ? words.section.allHeard(number(sensors)) : words.section.heard(number(heard), number(sensors));
  const last = lastReading === null ? '' : ` · ${words.section.lastReading(ago(lastReading, Date.parse(now.time)))}`;
  return `${at} · ${all}${last}`;
}

/** Where the places are drawn can be changed in the drawing itself; it is fetched when it is opened. */
function Mover() {
  const home = useHome();
  const opened = query.value.get('move') !== null;
  return (
    <details
      class="aside"
      open={opened}
      onToggle={(event) => {
        const open = event.currentTarget.open;
        if (open !== opened) choose({ move: open ? '' : null });
      }}
    >
      <summary>{sectionWords.move.title}</summary>
      {opened && <PlaceMover section={home.section} />}
    </details>
  );
}
