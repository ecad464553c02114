import { consentScopes, type Reach } from '../../analysis/portfolio/vocabulary.ts';
import { filled, oneOf, wholeLimit, wholeTime } from '../arguments.ts';
import {
  type Consent,
  type HomeAttributes,
  type HomeGroup,
  type PortfolioCounts,
  type PortfolioGroupRow,
  type PortfolioStore,
  StoreError,
} from '../port.ts';
import {
  choicesStatement,
  consentColumns,
  countsStatement,
  type Dialect,
  groupsStatement,
  type ListedRow,
  rowsStatement,
  type SummaryRow,
  seenGroupsStatement,
  summaryColumns,
  toListed,
  toSummary,
  toSummaryRow,
  unsharedStatement,
  withinStatement,
} from '../portfolio-sql.ts';
import { selectList } from '../row-columns.ts';
import type { Connection, Database, Transaction } from './database.ts';
import { dialect } from './dialect.ts';
import { nextId } from './ids.ts';
import { findRow, insertRow, listRows, requireDwelling, updateRow } from './rows.ts';

const holding = (db: Connection, dwellingId: number): Promise<Consent | undefined> =>
  db.first<Consent>(
    `SELECT ${selectList(consentColumns)} FROM consent WHERE dwelling_id = $1 AND withdrawn_at IS NULL`,
    [dwellingId],
  );

async function withdraw(tx: Transaction, consent: Consent, at: number, by: string | null): Promise<Consent> {
  if (consent.withdrawnAt !== null) return consent;
  const withdrawn = { ...consent, withdrawnAt: wholeTime('at', at), withdrawnBy: by };
  await updateRow(tx, 'consent', consentColumns, withdrawn);
  return withdrawn;
}

async function groupRow(db: Connection, id: number): Promise<HomeGroup> {
  const found = await db.first<HomeGroup>('SELECT id, name FROM home_group WHERE id = $1', [id]);
  if (found === undefined) throw new StoreError('not-found', `There is no group ${id}.`);
  return found;
}

async function readAttributes(db: Connection, dwellingId: number): Promise<HomeAttributes> {
  await requireDwelling(db, dwellingId);
  const row = (await db.first<Omit<HomeAttributes, 'groupIds'>>(
    'SELECT area, build_type AS "buildType" FROM home_attribute WHERE dwelling_id = $1',
    [dwellingId],
  )) ?? { area: null, buildType: null };
  const groups = await db.all<{ id: number }>(
    'SELECT group_id AS id FROM home_in_group WHERE dwelling_id = $1 ORDER BY group_id',
    [dwellingId],
  );
  return { ...row, groupIds: groups.map(({ id }) => id) };
}

const keepStatement = (() => {
  const columns = Object.values(summaryColumns);
  return `INSERT INTO home_summary (${columns.join(', ')}) VALUES (${columns.map((_, k) => `$${k + 1}`).join(', ')})
    ON CONFLICT (dwelling_id) DO UPDATE SET ${columns.map((column) => `${column} = excluded.${column}`).join(', ')}`;
})();

export function portfolioStore(db: Database): PortfolioStore {
  const ask = <Row>(statement: (words: Dialect) => string): Promise<Row[]> => {
    const words = dialect();
    return db.all<Row>(statement(words), words.values);
  };
  return {
    attributes: (dwellingId) => readAttributes(db, dwellingId),
    async changeAttributes(dwellingId, change) {
      return db.inTurn(dwellingId, async (tx) => {
        const { area, buildType, groupIds } = { ...(await readAttributes(tx, dwellingId)), ...change };
        if (area !== null) filled('area', area);
        if (buildType !== null) filled('buildType', buildType);
        await tx.run(
          `INSERT INTO home_attribute (dwelling_id, area, build_type) VALUES ($1, $2, $3)
           ON CONFLICT (dwelling_id) DO UPDATE SET area = excluded.area, build_type = excluded.build_type`,
          [dwellingId, area, buildType],
        );
        await tx.run('DELETE FROM home_in_group WHERE dwelling_id = $1', [dwellingId]);
        for (const id of new Set(groupIds)) {
          await groupRow(tx, id);
          await tx.run('INSERT INTO home_in_group (dwelling_id, group_id) VALUES ($1, $2)', [dwellingId, id]);
        }
        return readAttributes(tx, dwellingId);
      });
    },

    groups: () => db.all<HomeGroup>('SELECT id, name FROM home_group ORDER BY folded(name) COLLATE "C", id'),
    async addGroup(name) {
      filled('name', name);
      return (await db.first<HomeGroup>('INSERT INTO home_group (name) VALUES ($1) RETURNING id, name', [name]))!;
    },
    async renameGroup(id, name) {
      filled('name', name);
      return db.write(async (tx) => {
        await groupRow(tx, id);
        await tx.run('UPDATE home_group SET name = $2 WHERE id = $1', [id, name]);
        return groupRow(tx, id);
      });
    },
    async removeGroup(id) {
      await db.write(async (tx) => {
        await groupRow(tx, id);
        await tx.run('DELETE FROM home_in_group WHERE group_id = $1', [id]);
        await tx.run('DELETE FROM person_of_group WHERE group_id = $1', [id]);
        await tx.run('DELETE FROM home_group WHERE id = $1', [id]);
      });
    },

    consents: (dwellingId) => listRows(db, 'consent', consentColumns, dwellingId, 'id'),
    async consent(dwellingId) {
      return (await holding(db, dwellingId)) ?? null;
    },
    async giveConsent(consent) {
      oneOf('scope', consent.scope, consentScopes);
      filled('agreedBy', consent.agreedBy);
      wholeTime('givenAt', consent.givenAt);
      return db.inTurn(consent.dwellingId, async (tx) => {
        const before = await holding(tx, consent.dwellingId);
        if (before !== undefined) await withdraw(tx, before, consent.givenAt, consent.recordedBy);
        const id = await nextId(tx, consent.dwellingId, 'consent');
        const added: Consent = { ...consent, id, withdrawnAt: null, withdrawnBy: null };
        await insertRow(tx, 'consent', consentColumns, added);
        return added;
      });
    },
    async withdrawConsent(dwellingId, id, at, by) {
      return db.inTurn(dwellingId, async (tx) =>
        withdraw(tx, await findRow(tx, 'consent', consentColumns, dwellingId, id), at, by),
      );
    },

    async reaches() {
      const rows = await db.all<{ personId: number; kind: Reach['kind']; homes: number[]; groups: number[] }>(
        `SELECT person_id AS "personId", kind,
           ARRAY(SELECT dwelling_id FROM person_in_home AS home WHERE home.person_id = person_reach.person_id
             ORDER BY dwelling_id) AS homes,
           ARRAY(SELECT group_id FROM person_of_group AS one WHERE one.person_id = person_reach.person_id
             ORDER BY group_id) AS groups
         FROM person_reach ORDER BY person_id`,
      );
      return new Map(
        rows.map(({ personId, kind, homes, groups }): [number, Reach] => [
          personId,
          kind === 'all' ? { kind } : { kind, dwellingIds: homes, groupIds: groups },
        ]),
      );
    },
    async setReach(personId, reach) {
      await db.write(async (tx) => {
        for (const table of ['person_reach', 'person_in_home', 'person_of_group']) {
          await tx.run(`DELETE FROM ${table} WHERE person_id = $1`, [personId]);
        }
        if (reach === null) return;
        await tx.run('INSERT INTO person_reach (person_id, kind) VALUES ($1, $2)', [personId, reach.kind]);
        if (reach.kind === 'all') return;
        for (const id of new Set(reach.dwellingIds)) {
          await tx.run('INSERT INTO person_in_home (dwelling_id, person_id) VALUES ($1, $2)', [id, personId]);
        }
        for (const id of new Set(reach.groupIds)) {
          await groupRow(tx, id);
          await tx.run('INSERT INTO person_of_group (group_id, person_id) VALUES ($1, $2)', [id, personId]);
        }
      });
    },
    async isWithin(dwellingId, reach) {
      return (await ask((words) => withinStatement({ reach, shared: null }, dwellingId, words))).length > 0;
    },

    async summary(dwellingId) {
      const row = await db.first<SummaryRow>(
        `SELECT ${selectList(summaryColumns)} FROM home_summary WHERE dwelling_id = $1`,
        [dwellingId],
      );
      return row === undefined ? null : toSummary(row);
    },
    async keepSummary(dwellingId, summary) {
      const row = toSummaryRow(dwellingId, summary);
      await requireDwelling(db, dwellingId);
      await db.run(
        keepStatement,
        (Object.keys(summaryColumns) as (keyof SummaryRow)[]).map((field) => row[field]),
      );
    },
    async summariesBefore(time, most) {
      const rows = await db.all<{ id: number }>(
        `SELECT dwelling.id FROM dwelling LEFT JOIN home_summary ON home_summary.dwelling_id = dwelling.id
         WHERE leaving = 0 AND coalesce(worked_out_at, -1) < $1 ORDER BY coalesce(worked_out_at, -1), dwelling.id LIMIT $2`,
        [wholeTime('time', time), wholeLimit(most)],
      );
      return rows.map(({ id }) => id);
    },

    async portfolioRows(view, filter, page) {
      wholeLimit(page.most);
      return (await ask<ListedRow>((words) => rowsStatement(view, filter, page, words))).map(toListed);
    },
    async portfolioCounts(view, filter) {
      return (await ask<PortfolioCounts>((words) => countsStatement(view, filter, words)))[0]!;
    },
    portfolioGroups: (view, filter, by) => ask<PortfolioGroupRow>((words) => groupsStatement(view, filter, by, words)),
    async portfolioChoices(view) {
      const names = async (column: 'area' | 'build_type'): Promise<string[]> =>
        (await ask<{ name: string }>((words) => choicesStatement(view, column, words))).map(({ name }) => name);
      const groups = await ask<HomeGroup>((words) => seenGroupsStatement(view, words));
      return { areas: await names('area'), buildTypes: await names('build_type'), groups };
    },
    async countUnshared(reach) {
      return (await ask<{ homes: number }>((words) => unsharedStatement({ reach, shared: null }, words)))[0]!.homes;
    },
  };
}
