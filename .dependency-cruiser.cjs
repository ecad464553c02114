/**
 * Who may import whom. A folder without a row may be imported by nobody and may import nothing of ours.
 * Checked by `npm run arrows`, which also fails when fewer modules were seen than there are files.
 */
const rows = {
  'server/physics': [],
  'server/analysis': ['server/physics'],
  'server/processes': [],
  'server/store': ['server/processes', 'server/analysis', 'server/physics'],
  'server/ingest': ['server/store', 'server/analysis', 'server/physics'],
  'server/pictures': ['server/processes'],
  'server/simulate': ['server/analysis', 'server/physics'],
  'server/words': ['server/analysis', 'server/physics'],
  'server/watch': ['server/store', 'server/words', 'server/analysis', 'server/physics'],
  'server/evidence': ['server/store', 'server/words', 'server/analysis', 'server/physics', 'server/drawing'],
  'server/drawing': ['server/api/contract'],
  'server/api/contract': ['server/analysis', 'server/physics'],
  'server/api': [
    'server/api/contract',
    'server/ingest',
    'server/store',
    'server/watch',
    'server/words',
    'server/evidence',
    'server/pictures',
    'server/processes',
    'server/analysis',
    'server/physics',
  ],
  web: ['server/api/contract', 'server/physics', 'server/drawing', 'server/words'],
  test: ['server', 'web'],
};

const roots = ['server/main.ts', 'server/cli.ts', 'server/config.ts', 'server/log.ts', 'server/commands/'];
const escaped = (path) => path.replaceAll('/', '\\/');
const inside = (folder) => (folder === 'server/api' ? '^server\\/api\\/(?!contract\\/)' : `^${escaped(folder)}\\/`);

module.exports = {
  forbidden: [
    { name: 'no-circles', severity: 'error', from: {}, to: { circular: true } },
    { name: 'unresolvable', severity: 'error', from: {}, to: { couldNotResolve: true } },
    ...Object.entries(rows).map(([folder, allowed]) => ({
      name: `arrows-of-${folder}`,
      severity: 'error',
      from: { path: inside(folder) },
      to: {
        path: '^(server|web|test)\\/',
        pathNot: [inside(folder), ...allowed.map((to) => (to === 'server' ? '^server\\/' : inside(to)))],
      },
    })),
    {
      name: 'physics-imports-nothing',
      severity: 'error',
      from: { path: '^server\\/physics\\/' },
      to: { pathNot: '^server\\/physics\\/' },
    },
    {
      name: 'analysis-does-no-input-output',
      severity: 'error',
      from: { path: '^server\\/analysis\\/' },
      to: { dependencyTypes: ['core'] },
    },
    {
      name: 'sql-lives-in-the-store',
      severity: 'error',
      from: { pathNot: '^(server\\/store|test)\\/' },
      to: { path: 'better-sqlite3|node_modules\\/pg' },
    },
    {
      name: 'a-folder-without-a-row',
      severity: 'error',
      from: {
        path: '^(server|web|test)\\/',
        pathNot: [
          ...Object.keys(rows).map((folder) => `^${escaped(folder)}\\/`),
          ...roots.map((path) => `^${escaped(path)}`),
        ],
      },
      to: {},
    },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    enhancedResolveOptions: {
      extensions: ['.ts', '.tsx', '.js', '.json'],
      exportsFields: ['exports'],
      conditionNames: ['import', 'types', 'node', 'default'],
    },
  },
};
