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
  folded,
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
import { type Connection, write } from './database.ts';
import { dialect } from './dialect.ts';
import { idGiver } from './ids.ts';
import { findRow, insertRow, listRows, requireDwelling, updateRow } from './rows.ts';

export function portfolioStore(db: Connection): PortfolioStore {
  const nextId = idGiver(db);
  // the engine folds ASCII alone
  db.function('folded', { deterministic: true }, (text: unknown) => (typeof text === 'string' ? folded(text) : null));
  const summaryOf = db.prepare<[number], SummaryRow>(
    `SELECT ${selectList(summaryColumns)} FROM home_summary WHERE dwelling_id = ?`,
  );
  const keep = db.prepare(
    `INSERT OR REPLACE INTO home_summary (${Object.values(summaryColumns).join(', ')})
     VALUES (${Object.values(summaryColumns)
       .map(() => '?')
       .join(', ')})`,
  );
  const due = db
    .prepare<[number, number], number>(
      `SELECT dwelling.id FROM dwelling LEFT JOIN home_summary ON home_summary.dwelling_id = dwelling.id
       WHERE leaving = 0 AND coalesce(worked_out_at, -1) < ? ORDER BY coalesce(worked_out_at, -1), dwelling.id LIMIT ?`,
    )
    .pluck();
  const holding = db.prepare<[number], Consent>(
    `SELECT ${selectList(consentColumns)} FROM consent WHERE dwelling_id = ? AND withdrawn_at IS NULL`,
  );
  const ask = <Row>(statement: (words: Dialect) => string): Row[] => {
    const words = dialect();
    return db.prepare<[object], Row>(statement(words)).all(words.values);
  };
  const groupRow = (id: number): HomeGroup => {
    const found = db.prepare<[number], HomeGroup>('SELECT id, name FROM home_group WHERE id = ?').get(id);
    if (found === undefined) throw new StoreError('not-found', `There is no group ${id}.`);
    return found;
  };
  const readAttributes = (dwellingId: number): HomeAttributes => {
    requireDwelling(db, dwellingId);
    const row = db
      .prepare<[number], Omit<HomeAttributes, 'groupIds'>>(
        'SELECT area, build_type AS "buildType" FROM home_attribute WHERE dwelling_id = ?',
      )
      .get(dwellingId) ?? { area: null, buildType: null };
    const groupIds = db
      .prepare<[number], number>('SELECT group_id FROM home_in_group WHERE dwelling_id = ? ORDER BY group_id')
      .pluck()
      .all(dwellingId);
    return { ...row, groupIds };
  };
  const withdraw = (consent: Consent, at: number, by: string | null): Consent => {
    if (consent.withdrawnAt !== null) return consent;
    const withdrawn = { ...consent, withdrawnAt: wholeTime('at', at), withdrawnBy: by };
    updateRow(db, 'consent', consentColumns, withdrawn);
    return withdrawn;
  };

  return {
    async attributes(dwellingId) {
      return readAttributes(dwellingId);
    },
    async changeAttributes(dwellingId, change) {
      return write(db, () => {
        const { area, buildType, groupIds } = { ...readAttributes(dwellingId), ...change };
        if (area !== null) filled('area', area);
        if (buildType !== null) filled('buildType', buildType);
        db.prepare('INSERT OR REPLACE INTO home_attribute (dwelling_id, area, build_type) VALUES (?, ?, ?)').run(
          dwellingId,
          area,
          buildType,
        );
        db.prepare('DELETE FROM home_in_group WHERE dwelling_id = ?').run(dwellingId);
        const add = db.prepare('INSERT INTO home_in_group (dwelling_id, group_id) VALUES (?, ?)');
        for (const id of new Set(groupIds)) add.run(dwellingId, groupRow(id).id);
        return readAttributes(dwellingId);
      });
    },

    async groups() {
      return db.prepare<[], HomeGroup>('SELECT id, name FROM home_group ORDER BY folded(name), id').all();
    },
    async addGroup(name) {
      filled('name', name);
      return write(db, () => {
        const { lastInsertRowid } = db.prepare('INSERT INTO home_group (name) VALUES (?)').run(name);
        return groupRow(Number(lastInsertRowid));
      });
    },
    async renameGroup(id, name) {
      filled('name', name);
      return write(db, () => {
        groupRow(id);
        db.prepare('UPDATE home_group SET name = ? WHERE id = ?').run(name, id);
        return groupRow(id);
      });
    },
    async removeGroup(id) {
      write(db, () => {
        groupRow(id);
        db.prepare('DELETE FROM home_in_group WHERE group_id = ?').run(id);
        db.prepare('DELETE FROM person_of_group WHERE group_id = ?').run(id);
        db.prepare('DELETE FROM home_group WHERE id = ?').run(id);
      });
    },

    async consents(dwellingId) {
      return listRows(db, 'consent', consentColumns, dwellingId, 'id');
    },
    async consent(dwellingId) {
      return holding.get(dwellingId) ?? null;
    },
    async giveConsent(consent) {
      oneOf('scope', consent.scope, consentScopes);
      filled('agreedBy', consent.agreedBy);
      wholeTime('givenAt', consent.givenAt);
      return write(db, () => {
        requireDwelling(db, consent.dwellingId);
        const before = holding.get(consent.dwellingId);
        if (before !== undefined) withdraw(before, consent.givenAt, consent.recordedBy);
        const id = nextId(consent.dwellingId, 'consent');
        const added: Consent = { ...consent, id, withdrawnAt: null, withdrawnBy: null };
        insertRow(db, 'consent', consentColumns, added);
        return added;
      });
    },
    async withdrawConsent(dwellingId, id, at, by) {
      return write(db, () => withdraw(findRow(db, 'consent', consentColumns, dwellingId, id), at, by));
    },

    async reaches() {
      const kinds = db
        .prepare<[], { personId: number; kind: Reach['kind'] }>(
          'SELECT person_id AS "personId", kind FROM person_reach ORDER BY person_id',
        )
        .all();
      const homes = db
        .prepare<[number], number>('SELECT dwelling_id FROM person_in_home WHERE person_id = ? ORDER BY dwelling_id')
        .pluck();
      const groups = db
        .prepare<[number], number>('SELECT group_id FROM person_of_group WHERE person_id = ? ORDER BY group_id')
        .pluck();
      return new Map(
        kinds.map(({ personId, kind }): [number, Reach] => [
          personId,
          kind === 'all' ? { kind } : { kind, dwellingIds: homes.all(personId), groupIds: groups.all(personId) },
        ]),
      );
    },
    async setReach(personId, reach) {
      write(db, () => {
        for (const table of ['person_reach', 'person_in_home', 'person_of_group']) {
          db.prepare(`DELETE FROM ${table} WHERE person_id = ?`).run(personId);
        }
        if (reach === null) return;
        db.prepare('INSERT INTO person_reach (person_id, kind) VALUES (?, ?)').run(personId, reach.kind);
        if (reach.kind === 'all') return;
        const home = db.prepare('INSERT INTO person_in_home (dwelling_id, person_id) VALUES (?, ?)');
        for (const id of new Set(reach.dwellingIds)) home.run(id, personId);
        const group = db.prepare('INSERT INTO person_of_group (group_id, person_id) VALUES (?, ?)');
        for (const id of new Set(reach.groupIds)) group.run(groupRow(id).id, personId);
      });
    },
    async isWithin(dwellingId, reach) {
      return ask((words) => withinStatement({ reach, shared: null }, dwellingId, words)).length > 0;
    },

    async summary(dwellingId) {
      const row = summaryOf.get(dwellingId);
      return row === undefined ? null : toSummary(row);
    },
    async keepSummary(dwellingId, summary) {
      const row = toSummaryRow(dwellingId, summary);
      write(db, () => {
        requireDwelling(db, dwellingId);
        keep.run((Object.keys(summaryColumns) as (keyof SummaryRow)[]).map((field) => row[field]));
      });
    },
    async summariesBefore(time, most) {
      return due.all(wholeTime('time', time), wholeLimit(most));
    },

    async portfolioRows(view, filter, page) {
      wholeLimit(page.most);
      return ask<ListedRow>((words) => rowsStatement(view, filter, page, words)).map(toListed);
    },
    async portfolioCounts(view, filter) {
      return ask<PortfolioCounts>((words) => countsStatement(view, filter, words))[0]!;
    },
    async portfolioGroups(view, filter, by) {
      return ask<PortfolioGroupRow>((words) => groupsStatement(view, filter, by, words));
    },
    async portfolioChoices(view) {
      const names = (column: 'area' | 'build_type'): string[] =>
        ask<{ name: string }>((words) => choicesStatement(view, column, words)).map(({ name }) => name);
      const groups = ask<HomeGroup>((words) => seenGroupsStatement(view, words));
      return { areas: names('area'), buildTypes: names('build_type'), groups };
    },
    async countUnshared(reach) {
      return ask<{ homes: number }>((words) => unsharedStatement({ reach, shared: null }, words))[0]!.homes;
    },
  };
}
