/** What can be wrong with a file of homes, by code, with what the words of it are made of. */
export interface OnboardingFaultData {
  /** `reason`: as the library that reads tables says it */
  readonly 'not-a-table': { readonly reason: string };
  readonly 'too-many-rows': { readonly rows: number; readonly most: number };
  readonly 'no-rows': Nothing;
  readonly 'unknown-column': { readonly name: string; readonly columns: string };
  readonly 'no-dwelling-column': Nothing;
  readonly 'home-not-named': Nothing;
  readonly 'bad-slug': { readonly text: string };
  readonly 'said-otherwise': { readonly dwelling: string; readonly before: string; readonly here: string };
  readonly 'too-long': { readonly length: number; readonly most: number };
  readonly 'no-name': Nothing;
  readonly 'no-zone': Nothing;
  readonly 'bad-zone': { readonly zone: string };
  readonly 'kind-without-place': Nothing;
  readonly 'no-kind': { readonly place: string; readonly kinds: string };
  readonly 'bad-kind': { readonly kind: string; readonly kinds: string };
  readonly 'two-kinds': { readonly place: string; readonly before: string; readonly here: string };
  readonly 'faces-without-surface': { readonly place: string };
  readonly 'faces-no-room': { readonly place: string };
  readonly 'sensor-not-named': Nothing;
  readonly 'bad-sensor-key': { readonly key: string };
  readonly 'sensor-twice': { readonly key: string; readonly row: number };
  readonly 'neither-yes-nor-no': { readonly text: string };
  readonly 'bad-username': { readonly username: string };
  readonly 'reads-without-topic': Nothing;
  readonly 'topic-of-many': Nothing;
  readonly 'no-quantity': { readonly part: string; readonly quantities: string };
  /** `detail`: as the check of a mapping says it */
  readonly 'bad-mapping': { readonly detail: string };
  readonly 'username-twice': { readonly username: string; readonly row: number };
  readonly 'topic-twice': { readonly topic: string; readonly row: number };
  readonly 'zone-differs': { readonly dwelling: string; readonly zone: string };
  readonly 'kind-differs': { readonly place: string; readonly kind: string };
  readonly 'no-such-room': { readonly room: string; readonly dwelling: string };
  readonly 'username-elsewhere': { readonly username: string };
  readonly 'account-revoked': { readonly username: string };
  readonly 'topic-elsewhere': { readonly topic: string };
}
type Nothing = Readonly<Record<never, never>>;

export type OnboardingFaultCode = keyof OnboardingFaultData;
export type OnboardingFaultWhat = {
  [C in OnboardingFaultCode]: { readonly code: C; readonly data: OnboardingFaultData[C] };
}[OnboardingFaultCode];

/** What is wrong, as the middle of a line without its full stop; what to do about it, as a sentence. */
export interface OnboardingFaultSaid {
  readonly message: string;
  readonly whatToDo: string;
}

/** The words of every fault in one language. */
export type OnboardingFaultWords = {
  readonly [C in OnboardingFaultCode]: (data: OnboardingFaultData[C]) => readonly [message: string, whatToDo: string];
};

const english: OnboardingFaultWords = {
  'not-a-table': ({ reason }) => [
    `the file cannot be read as a table: ${reason}`,
    'Save it as CSV from a spreadsheet, every text with a comma or quotation mark inside quotation marks.',
  ],
  'too-many-rows': ({ rows, most }) => [`the file has ${rows} rows`, `Part it into files of at most ${most} rows.`],
  'no-rows': () => ['the file has no rows', 'Write a header and a row for each sensor.'],
  'unknown-column': ({ name, columns }) => [
    `there is a column "${name}" that is not known`,
    `Take it out; columns are ${columns}.`,
  ],
  'no-dwelling-column': () => ['there is no column dwelling', 'Name the home in every row, in a column dwelling.'],
  'home-not-named': () => ['the home is not named', slugRule],
  'bad-slug': ({ text }) => [`"${text}" cannot be the short name of a home`, slugRule],
  'said-otherwise': ({ dwelling, before, here }) => [
    `${dwelling} has "${before}" before and "${here}" here`,
    'Write the same in every row of the home, or in its first row alone.',
  ],
  'too-long': ({ length, most }) => [`it has ${length} characters`, `Write at most ${most}.`],
  'no-name': () => ['the home has no name', 'Write what people call it.'],
  'no-zone': () => ['the home has no time zone', 'Write an IANA time zone, such as Europe/London.'],
  'bad-zone': ({ zone }) => [`"${zone}" is not an IANA time zone`, 'Write one such as Europe/London or Europe/Berlin.'],
  'kind-without-place': () => ['a kind of place without its name', 'Name the place, or leave its kind empty.'],
  'no-kind': ({ place, kinds }) => [`it is not said what ${place} is`, `Write one of ${kinds}.`],
  'bad-kind': ({ kind, kinds }) => [`"${kind}" is no kind of place`, `Write one of ${kinds}.`],
  'two-kinds': ({ place, before, here }) => [
    `${place} is ${before} before and ${here} here`,
    'Write the same, or give one of the two another name.',
  ],
  'faces-without-surface': ({ place }) => [`${place} is no surface and faces no room`, 'Leave it empty.'],
  'faces-no-room': ({ place }) => [`${place} is no room air`, 'Name a place of kind room-air.'],
  'sensor-not-named': () => ['it is of a sensor, and no sensor is named', 'Write the key of the sensor.'],
  'bad-sensor-key': ({ key }) => [
    `"${key}" cannot be the key of a sensor`,
    'Write up to 100 characters without /, + and #.',
  ],
  'sensor-twice': ({ key, row }) => [`${key} is in row ${row} already`, 'Write each sensor once.'],
  'neither-yes-nor-no': ({ text }) => [`"${text}" is neither yes nor no`, 'Write yes or no.'],
  'bad-username': ({ username }) => [
    `the user name ${username} would have characters or a length that devices do not take`,
    'Shorten the key, and write it with letters, digits, dot, hyphen and underscore.',
  ],
  'reads-without-topic': () => [
    'it is said where values are, and not of which topic',
    'Write the topic, or leave reads empty.',
  ],
  'topic-of-many': () => ['the topic of one sensor holds no +, #, { or }', 'Write the topic as the device sends it.'],
  'no-quantity': ({ part, quantities }) => [
    `"${part}" names no quantity`,
    `Write pointer = quantity, such as /t=temperature_c; quantities are ${quantities}.`,
  ],
  'bad-mapping': ({ detail }) => [detail, 'Correct it, or leave it empty and map the topic on the page.'],
  'username-twice': ({ username, row }) => [
    `the user name ${username} is that of row ${row} already`,
    'Give one of the two sensors another key.',
  ],
  'topic-twice': ({ topic, row }) => [`the topic ${topic} is that of row ${row} already`, 'Write each topic once.'],
  'zone-differs': ({ dwelling, zone }) => [
    `${dwelling} is there already, in ${zone}`,
    'Write that, or change the home under Settings first.',
  ],
  'kind-differs': ({ place, kind }) => [
    `${place} is there already, as ${kind}`,
    'Write that, or give the new place another name.',
  ],
  'no-such-room': ({ room, dwelling }) => [
    `there is no room air ${room} in ${dwelling}`,
    'Write its row too, with place_kind room-air.',
  ],
  'username-elsewhere': ({ username }) => [
    `the user name ${username} is taken in another home`,
    'Give the sensor another key.',
  ],
  'account-revoked': ({ username }) => [
    `the account ${username} was taken away`,
    'Give the sensor another key, or make an account for it under People and devices.',
  ],
  'topic-elsewhere': ({ topic }) => [
    `the topic ${topic} is read for another home already`,
    'Correct the topic, or remove that mapping first.',
  ],
};
const slugRule = 'Write up to 40 lower-case letters and digits, with single hyphens between, such as mill-row-12.';

export const onboardingFaultCodes = Object.keys(english) as OnboardingFaultCode[];

/** A fault in the words of a language; without one, in English. */
export function sayOnboardingFault(
  { code, data }: OnboardingFaultWhat,
  words: OnboardingFaultWords = english,
): OnboardingFaultSaid {
  // the code says of which form the data is
  const say = words[code] as (data: OnboardingFaultWhat['data']) => readonly [string, string];
  const [message, whatToDo] = say(data);
  return { message, whatToDo };
}
