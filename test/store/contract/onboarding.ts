import { expect, test } from 'vitest';
import type { HomeWanted } from '../../../server/store/port.ts';
import { appendReadings, DAY, dwellingCalled, HOUR, NEW_YEAR, readingOf } from './given.ts';
import type { UnderTest } from './under-test.ts';

const AT = NEW_YEAR + 10 * HOUR;

const account = (username: string) => ({ username, passwordHash: `digest of ${username}` });
const sensor = (key: string, place: string | null): HomeWanted['sensors'][number] => ({
  key,
  name: `the ${key}`,
  model: null,
  place,
  mapping: null,
  account: null,
});
const millRow: HomeWanted = {
  dwelling: dwellingCalled('mill-row-1'),
  area: 'Mill row',
  buildType: 'solid wall',
  group: 'Terrace',
  places: [
    { name: 'Bedroom', kind: 'room-air', faces: null },
    { name: 'Slope', kind: 'ceiling-surface', faces: 'Bedroom' },
  ],
  sensors: [
    { ...sensor('room', 'Bedroom'), model: 'SHT31', account: account('mill-row-1-room') },
    {
      ...sensor('slope', 'Slope'),
      account: account('mill-row-1-slope'),
      mapping: {
        topicPattern: 'attic/1/state',
        values: [{ pointer: '/t', quantity: 'temperature', unit: 'C', scale: 1, offset: 0, sensorKey: null }],
      },
    },
    sensor('loft', null),
  ],
};

export function onboardingContract(given: UnderTest): void {
  const everything = async (id: number) => ({
    places: await given.store.places(id),
    sensors: await given.store.sensors(id),
    placements: await given.store.placements(id),
    mappings: await given.store.mappings(),
    accounts: await given.store.deviceAccounts(),
    attributes: await given.store.attributes(id),
    journal: (await given.store.journal(id)).map(({ subject, subjectId }) => `${subject} ${subjectId}`),
  });

  test('a home is added with all that belongs to it, and every row of it is in its journal', async () => {
    const { store } = given;
    const outcome = await store.onboard(millRow, AT);
    const { dwellingId } = outcome;
    expect(outcome).toEqual({
      dwellingId,
      dwellings: 1,
      places: 2,
      sensors: 3,
      mappings: 1,
      accounts: ['mill-row-1-room', 'mill-row-1-slope'],
    });
    expect(await store.findDwelling('mill-row-1')).toMatchObject({ id: dwellingId, isExample: false });
    const [group] = await store.groups();
    expect(await everything(dwellingId)).toEqual({
      places: [
        { id: 1, dwellingId, name: 'Bedroom', kind: 'room-air', facesPlaceId: null, position: null },
        { id: 2, dwellingId, name: 'Slope', kind: 'ceiling-surface', facesPlaceId: 1, position: null },
      ],
      sensors: [
        { id: 1, dwellingId, key: 'room', name: 'the room', model: 'SHT31' },
        { id: 2, dwellingId, key: 'slope', name: 'the slope', model: null },
        { id: 3, dwellingId, key: 'loft', name: 'the loft', model: null },
      ],
      placements: [
        { id: 1, dwellingId, sensorId: 1, placeId: 1, from: AT, to: null },
        { id: 2, dwellingId, sensorId: 2, placeId: 2, from: AT, to: null },
      ],
      mappings: [
        {
          id: 1,
          dwellingId,
          topicPattern: 'attic/1/state',
          sensorKey: 'slope',
          values: millRow.sensors[1]!.mapping!.values,
          time: null,
        },
      ],
      accounts: [
        { ...account('mill-row-1-room'), id: 1, dwellingId, sensorKey: 'room', createdAt: AT, revokedAt: null },
        { ...account('mill-row-1-slope'), id: 2, dwellingId, sensorKey: 'slope', createdAt: AT, revokedAt: null },
      ],
      attributes: { area: 'Mill row', buildType: 'solid wall', groupIds: [group!.id] },
      journal: [
        `dwelling ${dwellingId}`,
        'place 1',
        'place 2',
        'sensor 1',
        'sensor 2',
        'sensor 3',
        'placement 1',
        'placement 2',
      ],
    });
    expect(await store.checkSeals(dwellingId)).toEqual([]);
  });

  test('the same home once more changes nothing, and what it lacks by then is all that is added', async () => {
    const { store } = given;
    const { dwellingId } = await store.onboard(millRow, AT);
    await store.placeSensor(dwellingId, 2, 1, AT + HOUR);
    const before = await everything(dwellingId);
    const nothing = { dwellingId, dwellings: 0, places: 0, sensors: 0, mappings: 0, accounts: [] };
    expect(await store.onboard(millRow, AT + DAY)).toEqual(nothing);
    expect(await everything(dwellingId)).toEqual(before);

    const more = {
      ...millRow,
      sensors: [...millRow.sensors, { ...sensor('eaves', 'Slope'), account: account('eaves') }],
    };
    expect(await store.onboard(more, AT + DAY)).toEqual({ ...nothing, sensors: 1, accounts: ['eaves'] });
    expect((await store.placements(dwellingId)).at(-1)).toMatchObject({ sensorId: 4, placeId: 2, from: AT + DAY });
  });

  test('readings that came before their sensor was placed become hours from then on', async () => {
    const { store } = given;
    const { dwellingId } = await store.onboard({ ...millRow, sensors: [] }, AT);
    const times = [AT - HOUR, AT, AT + 2 * HOUR];
    await appendReadings(
      store,
      times.map((time) => readingOf({ id: dwellingId }, 'room', 'temperature', time, 18)),
    );
    await store.replaceHours(dwellingId, await store.staleHours(dwellingId, 0, 100), []);
    expect(await store.onboard(millRow, AT)).toMatchObject({ dwellings: 0, places: 0, sensors: 2 });
    expect((await store.staleHours(dwellingId, 0, 100)).map(({ hour }) => hour)).toEqual([AT, AT + 2 * HOUR]);
  });

  test('a home that cannot be added whole is not added at all', async () => {
    const { store } = given;
    const nowhere = { ...millRow, sensors: [...millRow.sensors, sensor('attic', 'Attic')] };
    await expect(store.onboard(nowhere, AT)).rejects.toMatchObject({ name: 'StoreError', fault: 'not-found' });
    const faceless = { ...millRow, places: millRow.places.slice(1) };
    await expect(store.onboard(faceless, AT)).rejects.toMatchObject({ name: 'StoreError', fault: 'not-found' });
    expect(await store.dwellings()).toEqual([]);

    await store.onboard(millRow, AT);
    const other = { ...millRow, dwelling: dwellingCalled('mill-row-2') };
    await expect(store.onboard(other, AT)).rejects.toMatchObject({ name: 'StoreError', fault: 'already-there' });
    expect((await store.dwellings()).map(({ slug }) => slug)).toEqual(['mill-row-1']);
    await expect(store.onboard(millRow, Number.NaN)).rejects.toThrow(RangeError);
  });

  test('a home that two processes add at once is there once, and nothing of it is missing', async () => {
    const other = await given.another();
    const outcomes = await Promise.all([given.store, other, given.store, other].map((one) => one.onboard(millRow, AT)));
    const sum = (count: (one: (typeof outcomes)[number]) => number) =>
      outcomes.reduce((total, one) => total + count(one), 0);
    expect([sum((one) => one.dwellings), sum((one) => one.sensors), sum((one) => one.accounts.length)]).toEqual([
      1, 3, 2,
    ]);
    expect(new Set(outcomes.map(({ dwellingId }) => dwellingId)).size).toBe(1);
  });
}
