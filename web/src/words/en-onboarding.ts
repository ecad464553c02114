import type { OnboardingFaultWords } from '../../../server/api/contract/onboarding.ts';

/** Text about adding many homes, and about placing a sensor by its label, in English. */
export const enOnboarding = {
  title: 'Add many homes',
  lead: 'From one CSV file with a row for each sensor: homes, places, sensors and what each sensor signs in with. It is looked through first, and nothing is kept until you say so.',
  columns: 'The columns of the file',
  column: 'Column',
  meaning: 'What it says',
  /** as the program says it */
  meanings: {} as Readonly<Record<string, string>>,
  file: 'The file',
  check: 'Look through it',
  looking: 'Looking through it …',
  faults: (n: string, one: boolean) => (one ? 'One thing is wrong' : `${n} things are wrong`),
  faultsLead:
    'Homes with something wrong are left out whole; the others can be added now. Mend the file and send it again: what is there already is not added twice.',
  row: 'Row',
  /** as the program says it */
  faultWords: null as OnboardingFaultWords | null,
  whatToDo: 'What to do',
  found: (homes: string, places: string, sensors: string, accounts: string) =>
    `To be added: homes ${homes}, places ${places}, sensors ${sensors}, sign-ins of sensors ${accounts}.`,
  nothing: 'Nothing is to be added: all of it is there already.',
  run: 'Add them',
  done: (homes: string) => `Added or filled up: homes ${homes}.`,
  passwords: 'Passwords of the sensors',
  passwordsLead:
    'They are in this file and nowhere else: only digests are kept. Save it now, and put each password into its device.',
  savePasswords: 'Save the passwords as a CSV file',
  labels: 'Labels to print',
  labelsLead:
    'A sheet of A4 with a label for each sensor of the homes in the file. The code on it opens the page where that sensor is placed, and holds no secret.',
  labelsBatch: (most: string) => `Which homes, ${most} at a time`,
  labelsFrom: (first: string, last: string, from: string, to: string) => `${from} to ${to}: ${first} … ${last}`,
  labelsPdf: 'Labels as PDF',
  labelsHtml: 'Labels to print from the browser',
  standing: {
    title: (sensor: string) => `Where does ${sensor} stand?`,
    unknown: (sensor: string) => `There is no sensor ${sensor} in this home`,
    unknownNext: 'It appears when it sends its first reading, or when it is added under Sensors.',
    stands: (place: string) => `It stands at ${place}.`,
    nowhere: 'It stands nowhere yet.',
    heard: (ago: string) => `Last heard ${ago}.`,
    neverHeard: 'Nothing has come from it yet.',
    caution: 'In the loft: stand on boards, have light, and mind where you could fall. Do not block the eaves.',
    ownerOnly: 'Only an owner can say where a sensor stands. Sign in as one.',
    noPlaces: 'This home has no places yet.',
    where: 'From now on it stands at',
    submit: 'It stands there now',
    placed: (place: string) => `Noted: it stands at ${place} from now on.`,
  },
};
