import { createHash } from 'node:crypto';
import { dayOf } from '../../server/store/canonical.ts';
import type { Dwelling, IncomingReading, Store } from '../../server/store/port.ts';
import { twoColours } from '../pictures/made.ts';

export const DAY = 86_400_000;
const HOUR = 3_600_000;
export const FROM = Date.UTC(2025, 10, 1);
const LINED = FROM + 21 * DAY;
export const TO = FROM + 42 * DAY;

/** Names that would break out of a table, a path, a page or a spreadsheet if anything let them. */
export const hostile = {
  home: '=HYPERLINK("http://example.invalid";"x")',
  room: '../../etc/passwd',
  surface: '"; DROP TABLE reading; --\r\n+1+1,"x"',
  note: '@SUM(A1:A9)\nline two, with "quotes" and \u2028 and \u0000 and ünï©ødé 🏚',
  sensor: '=cmd|calc',
  seen: '+1 black strip\n@eaves',
} as const;

/** Six weeks of a bedroom under a slope that was lined in the middle of them, day by day as they came, each day sealed. */
export async function givenSealedHome(store: Store): Promise<Dwelling> {
  const home = await store.addDwelling({
    slug: 'larch',
    name: hostile.home,
    zone: 'Europe/London',
    section: {
      pitchDeg: 40,
      slopeLengthMm: 900,
      roomHeightMm: 2300,
      liningThicknessMm: 0,
      loftInsulationMm: 300,
      eavesGapMm: 50,
    },
  });
  const dwellingId = home.id;
  const places = [
    [hostile.room, 'room-air', 'room'],
    [hostile.surface, 'ceiling-surface', hostile.sensor],
    ['Flat ceiling', 'control-surface', 'flat'],
    ['Outdoors', 'outdoor-air', 'outdoors'],
    ['Loft', 'loft-air', 'loft'],
  ] as const;
  for (const [name, kind, key] of places) {
    const place = await store.addPlace({ dwellingId, name, kind, facesPlaceId: null });
    const sensor = await store.ensureSensor(dwellingId, key);
    await store.placeSensor(dwellingId, sensor.id, place.id, FROM - DAY);
  }
  await store.addPhase({ dwellingId, kind: 'before', name: '-2+3', from: FROM, to: LINED });
  await store.addPhase({ dwellingId, kind: 'after', name: 'After', from: LINED, to: null });
  const entry = await store.addDiaryEntry({ dwellingId, time: FROM + DAY, kind: 'note', text: hostile.note });
  const jpeg = await twoColours(40, 30);
  const photo = await store.addPhoto(
    {
      dwellingId,
      takenAt: FROM + DAY - HOUR,
      sha256: createHash('sha256').update(jpeg).digest('hex'),
      width: 40,
      height: 30,
      addedAt: FROM + DAY,
    },
    { full: jpeg, thumbnail: jpeg },
  );
  await store.setEntryPhotos(dwellingId, entry.id, [{ id: photo.id, alt: hostile.seen }]);
  for (let day = FROM; day < TO; day += DAY) {
    const readings: IncomingReading[] = [];
    for (let time = day; time < day + DAY; time += HOUR / 2) {
      const hours = (time - FROM) / HOUR;
      const outdoor = 4 + 3 * Math.cos(((hours - 15) / 24) * 2 * Math.PI) + 3 * Math.sin(hours / 61);
      const room = 18 + 1.5 * Math.cos(((hours - 20) / 24) * 2 * Math.PI);
      const f = time < LINED ? 0.55 : 0.86;
      const round = (value: number): number => Math.round(value * 100) / 100;
      const add = (sensorKey: string, temperature: number, humidity: number | null): void => {
        readings.push({ dwellingId, sensorKey, quantity: 'temperature', time, value: round(temperature) });
        if (humidity !== null)
          readings.push({ dwellingId, sensorKey, quantity: 'humidity', time, value: round(humidity) });
      };
      add('room', room, 58 + 6 * Math.sin(hours / 9));
      add(hostile.sensor, outdoor + f * (room - outdoor) + 0.3 * Math.sin(hours), null);
      add('flat', outdoor + 0.85 * (room - outdoor) + 0.2 * Math.cos(hours / 2), null);
      add('outdoors', outdoor, 84 + 8 * Math.sin(hours / 30));
      add('loft', outdoor + 1.5, 78 + 6 * Math.sin(hours / 30));
    }
    await store.append({
      receivedAt: day + DAY - HOUR,
      readings,
      quarantined: [
        {
          receivedAt: day + HOUR,
          source: 'mqtt',
          topic: 'coomb/larch/=1+1',
          payload: new TextEncoder().encode('{"t":'),
          code: 'not-json',
          message: 'no JSON',
        },
      ],
    });
    if (day === FROM) {
      const series = await store.series(dwellingId);
      await store.addCalibrations(dwellingId, [
        {
          seriesId: series[0]!.id,
          from: FROM,
          method: 'ice-point',
          points: [{ reading: 0.2, reference: 0 }],
          uncertainty: 0.1,
          sharedSource: null,
          sharedUncertainty: 0,
          note: '',
          madeAt: FROM,
        },
      ]);
      // a second value for an instant that has one
      await store.append({
        receivedAt: day + DAY - HOUR,
        readings: [{ dwellingId, sensorKey: 'room', quantity: 'temperature', time: FROM, value: 50 }],
        quarantined: [],
      });
    }
    await store.sealNextDay(dwellingId, dayOf(day + DAY), day + DAY + HOUR);
  }
  return home;
}
