import { parse } from 'csv-parse/sync';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { HomeLine, Portfolio } from '../../server/api/contract/portfolio.ts';
import { givenSealedHome, hostile, TO } from '../evidence/home.ts';
import { givenHome, startServer, type TestServer } from './server.ts';

const HOUR = 3_600_000;
let now = TO + HOUR / 3;
let server: TestServer;

beforeAll(async () => {
  server = await startServer(() => now);
  await givenSealedHome(server.coomb.store);
  await givenHome(server, 'mill-cottage');
  await server.coomb.settled();
  await server.coomb.watched();
  await server.coomb.summarised();
}, 120_000);

afterAll(() => server.close());

const get = async (query = ''): Promise<Portfolio> => (await server.operate('getPortfolio', `/portfolio${query}`)).body;
const lineOf = async (slug: string): Promise<HomeLine> => (await get()).homes.find((home) => home.slug === slug)!;

describe('the line of a home among many', () => {
  it('says what the screens of the home say', async () => {
    const line = await lineOf('larch');
    const places = (await server.operate('listPlaces', '/dwellings/larch/places')).body;
    const { surfaces } = (await server.operate('getTonight', '/dwellings/larch/tonight')).body;
    const nameOf = (id: number) => places.find((place: { id: number }) => place.id === id).name;
    const worst = surfaces.sort((a: { chance: number }, b: { chance: number }) => b.chance - a.chance)[0];
    expect(line.tonight).toMatchObject({
      night: '2025-12-12',
      place: nameOf(worst.placeId),
      chance: worst.chance,
      marginK: worst.minimumMargin.value,
      marginLowK: worst.minimumMargin.low,
    });
    const ceiling = places.find(({ kind }: { kind: string }) => kind === 'ceiling-surface');
    const compared = await server.operate('getComparison', `/dwellings/larch/comparison?surface=${ceiling.id}`);
    const { after, verdict, target } = compared.body.assessment;
    expect(line.factor).toMatchObject({
      place: hostile.surface,
      phase: 'after',
      f: after.f.value,
      low: after.f.low,
      high: after.f.high,
      target: target.f,
    });
    expect(line.verdict).toBe(verdict.kind);
    const notices = (await server.operate('listNotices', '/dwellings/larch/notices')).body.current as {
      code: string;
      sensorId: number | null;
    }[];
    const troubled = new Set(notices.filter(({ code }) => code === 'sensor-trouble').map(({ sensorId }) => sensorId));
    const stopped = notices.some(({ code }) => code === 'readings-stopped');
    expect(line).toMatchObject({
      sensors: 5,
      sensorsToVisit: stopped ? 5 : troubled.size,
      tooCold: notices.some(({ code }) => code === 'room-too-cold'),
      tooMoist: notices.some(({ code }) => code === 'room-too-moist'),
      workedOutAt: new Date(now).toISOString(),
      dataTo: new Date(TO).toISOString(),
    });
  });

  it('of a home of which nothing is known says nothing, and not that all is well', async () => {
    expect(await lineOf('mill-cottage')).toMatchObject({
      tonight: null,
      factor: null,
      verdict: null,
      sensors: 0,
      sensorsToVisit: 0,
      tooCold: null,
      tooMoist: null,
      dataTo: null,
    });
  });

  it('is worked out again in the next hour; its comparison when its story changed', async () => {
    const before = await lineOf('larch');
    now += HOUR;
    await server.coomb.summarised();
    const hourly = await lineOf('larch');
    expect(hourly.workedOutAt).toBe(new Date(now).toISOString());
    expect(hourly.assessedAt).toBe(before.assessedAt);
    const [first] = (await server.operate('listPhases', '/dwellings/larch/phases')).body;
    await server.operate('removePhase', `/dwellings/larch/phases/${first.id}`);
    await server.coomb.summarised();
    const changed = await lineOf('larch');
    expect(changed).toMatchObject({ assessedAt: new Date(now).toISOString(), verdict: 'not-enough-evidence' });
  });

  it('says nothing of tonight once its night is over', async () => {
    expect((await lineOf('larch')).tonight).not.toBeNull();
    now += 24 * HOUR;
    expect((await lineOf('larch')).tonight).toBeNull();
    expect((await get()).counts['wet-tonight']).toBe(0);
    now -= 24 * HOUR;
  });
});

describe('the list', () => {
  it('comes a page at a time, and refuses a page that never was', async () => {
    const first = await get('?order=name&most=1');
    expect(first.homes.map(({ slug }) => slug)).toEqual(['larch']);
    const second = await get(`?order=name&most=1&after=${first.next}`);
    expect(second).toMatchObject({ homes: [{ slug: 'mill-cottage' }], next: null });
    const never = await server.operate('getPortfolio', '/portfolio?after=nonsense');
    expect([never.status, never.body.errors[0].pointer]).toEqual([400, '/after']);
    expect((await server.operate('getPortfolio', '/portfolio?condition=pink')).status).toBe(400);
  });

  it('is searched and counted by area, as whoever looks after the homes calls it', async () => {
    const attributes = { area: 'Upper end', buildType: '+solid wall' };
    const changed = await server.operate('changeAttributes', '/dwellings/larch/attributes', { json: attributes });
    expect(changed.body).toEqual({ ...attributes, groupIds: [] });
    expect((await get('?search=upper')).homes.map(({ slug }) => slug)).toEqual(['larch']);
    expect((await get('?area=Upper%20end')).counts.homes).toBe(1);
    const groups = await server.operate('getPortfolioGroups', '/portfolio/groups?by=area');
    expect(groups.body).toMatchObject([
      { name: 'Upper end', homes: 1 },
      { name: null, homes: 1 },
    ]);
    const unknown = await server.operate('changeAttributes', '/dwellings/larch/attributes', {
      json: { groupIds: [9] },
    });
    expect(unknown.status).toBe(404);
  });

  it('as a file holds every home, and no cell that a spreadsheet would run', async () => {
    const response = await fetch(`${server.coomb.address}/api/v1/portfolio/file`);
    expect(response.headers.get('content-disposition')).toContain('.csv');
    const text = await response.text();
    const rows: Record<string, string>[] = parse(text, { columns: true });
    expect(rows.map((row) => row.dwelling)).toEqual(['larch', 'mill-cottage']);
    for (const cell of rows.flatMap((row) => Object.values(row))) {
      // OWASP, CSV Injection: cells that begin with = + - @, tab or carriage return; a plain negative number is none
      if (!/^-?\d+(\.\d+)?(e-?\d+)?$/.test(cell)) expect(cell).not.toMatch(/^[=+\-@\t\r]/);
    }
    const line = await lineOf('larch');
    expect(JSON.parse(rows[0]!.name!)).toBe(hostile.home);
    expect(JSON.parse(rows[0]!.build_type!)).toBe('+solid wall');
    expect(rows[0]).toMatchObject({ area: 'Upper end', works_verdict: line.verdict });
    expect(Number(rows[0]!.tonight_chance)).toBe(line.tonight!.chance);
  });
});

describe('groups and consents by the API', () => {
  it('a group of that name is there once, and a home may be in several', async () => {
    const one = await server.operate('addGroup', '/groups', { json: { name: 'Terrace' } });
    expect((await server.operate('addGroup', '/groups', { json: { name: 'Terrace' } })).status).toBe(409);
    const other = await server.operate('addGroup', '/groups', { json: { name: 'Winter 26' } });
    const groupIds = [one.body.id, other.body.id];
    await server.operate('changeAttributes', '/dwellings/larch/attributes', { json: { groupIds } });
    expect((await get(`?group=${other.body.id}`)).homes.map(({ slug }) => slug)).toEqual(['larch']);
    await server.operate('removeGroup', `/groups/${one.body.id}`);
    const left = await server.operate('getAttributes', '/dwellings/larch/attributes');
    expect(left.body.groupIds).toEqual([other.body.id]);
  });

  it('every consent ever given stays on record, the last first', async () => {
    const path = '/dwellings/larch/consents';
    await server.operate('giveConsent', path, { json: { scope: 'report', agreedBy: 'Ada Larch' } });
    now += HOUR;
    const second = await server.operate('giveConsent', path, { json: { scope: 'summary', agreedBy: 'Ada Larch' } });
    expect((await get()).homes.find(({ slug }) => slug === 'larch')!.shared).toBe('summary');
    now += HOUR;
    await server.operate('withdrawConsent', `${path}/${second.body.id}/withdrawal`);
    const { body } = await server.operate('listConsents', path);
    expect(body).toMatchObject([
      { scope: 'summary', givenAt: new Date(now - HOUR).toISOString(), withdrawnAt: new Date(now).toISOString() },
      { scope: 'report', withdrawnAt: new Date(now - HOUR).toISOString() },
    ]);
    expect((await server.operate('giveConsent', path, { json: { scope: 'all', agreedBy: 'x' } })).status).toBe(400);
  });
});
