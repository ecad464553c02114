/** As much of JSON Schema (draft 2020-12) as an OpenAPI document of this program uses. */
export interface Schema {
  readonly $ref?: string;
  readonly type?: string | readonly string[];
  readonly const?: unknown;
  readonly enum?: readonly unknown[];
  readonly anyOf?: readonly Schema[];
  readonly oneOf?: readonly Schema[];
  readonly allOf?: readonly Schema[];
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly required?: readonly string[];
  readonly additionalProperties?: Schema | boolean;
  readonly items?: Schema;
  readonly prefixItems?: readonly Schema[];
  readonly minItems?: number;
  readonly maxItems?: number;
  readonly pattern?: string;
  readonly format?: string;
  readonly minLength?: number;
  readonly maxLength?: number;
  readonly minimum?: number;
  readonly maximum?: number;
  readonly exclusiveMinimum?: number;
  readonly exclusiveMaximum?: number;
}

export type Schemas = Readonly<Record<string, Schema>>;

/** Texts of the forms that patterns and formats ask for; the first that fits is taken. */
const texts = [
  'cottage',
  '22:00',
  '2026-01-14',
  '2026-01-14T22:10:00Z',
  '00000000-0000-4000-8000-000000000001',
  '/t',
  'attic/{sensor}/state',
  'https://127.0.0.1:9/word',
  'several words are good',
];

/** What a schema cannot say of a value, by the name of the property. */
const hints: Readonly<Record<string, unknown>> = {
  zone: 'Europe/London',
  time_zone: 'Europe/London',
  address: 'https://127.0.0.1:9/word',
  pointer: '/t',
  unit: 'C',
  current: 'slow otters mend slates',
  sensorKey: 'new-one',
  words: 'with-words',
  time: '2025-11-05T22:10:00Z',
  from: '2025-11-02T00:00:00Z',
  to: '2025-12-01T00:00:00Z',
};

/** The same for a property or parameter whose name says more. */
export function sampleNamed(name: string, schema: Schema, schemas: Schemas, random: () => number, depth = 0): unknown {
  const free = schema.type === 'string' && (schema.pattern === undefined || schema.format === 'date-time');
  return free && name in hints ? hints[name] : sampleOf(schema, schemas, random, depth);
}

/** A value that fits a schema, or nearly: made from numbers between 0 and 1. */
export function sampleOf(schema: Schema, schemas: Schemas, random: () => number, depth = 0): unknown {
  const pick = <T>(from: readonly T[]): T => from[Math.floor(random() * from.length)]!;
  const inner = (one: Schema): unknown => sampleOf(one, schemas, random, depth + 1);
  if (schema.$ref !== undefined) return inner(schemas[schema.$ref.split('/').at(-1)!] ?? {});
  if ('const' in schema) return schema.const;
  if (schema.enum !== undefined) return pick(schema.enum);
  const choices = schema.anyOf ?? schema.oneOf;
  if (choices !== undefined) return inner(depth > 6 ? choices.at(-1)! : pick(choices));
  if (schema.allOf !== undefined) return Object.assign({}, ...schema.allOf.map(inner));
  const type = typeof schema.type === 'string' || schema.type === undefined ? schema.type : pick(schema.type);
  switch (type) {
    case 'object': {
      const wanted = Object.entries(schema.properties ?? {}).filter(
        ([key]) => schema.required?.includes(key) || random() < 0.4,
      );
      return Object.fromEntries(wanted.map(([key, one]) => [key, sampleNamed(key, one, schemas, random, depth + 1)]));
    }
    case 'array': {
      if (schema.prefixItems !== undefined) return schema.prefixItems.map(inner);
      const least = schema.minItems ?? 0;
      const length = Math.min(schema.maxItems ?? 3, least + Math.floor(random() * 3));
      return Array.from({ length }, () => inner(schema.items ?? {}));
    }
    case 'integer':
    case 'number': {
      const low = schema.minimum ?? (schema.exclusiveMinimum === undefined ? -5 : schema.exclusiveMinimum + 1);
      // what has no bound, or the greatest there is, is mostly the number of something
      const high = (schema.maximum ?? Number.MAX_SAFE_INTEGER) > 1e9 ? low + 3 : schema.maximum!;
      const value = low + random() * (high - low);
      return type === 'integer' ? Math.round(value) : value;
    }
    case 'boolean':
      return random() < 0.5;
    case 'null':
      return null;
    case 'string': {
      const pattern = schema.pattern === undefined ? null : new RegExp(schema.pattern, 'u');
      const fits = texts.filter(
        (text) =>
          (pattern === null || pattern.test(text)) &&
          text.length >= (schema.minLength ?? 0) &&
          text.length <= (schema.maxLength ?? 1000),
      );
      return fits.length === 0 ? 'x' : pattern === null ? pick(fits) : fits[0];
    }
    default:
      return { temperature_c: 12.5 };
  }
}
