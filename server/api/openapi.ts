import { createDocument, type ZodOpenApiOperationObject, type ZodOpenApiPathsObject } from 'zod-openapi';
import { problem } from './contract/figures.ts';
import { liveEvents, liveQuery } from './contract/live.ts';
import { type Operation, operations } from './contract/operations.ts';

/** The OpenAPI 3.1 document of the API, made from the same table as its routes. */
export function openApiDocument(version: string): ReturnType<typeof createDocument> {
  const paths: ZodOpenApiPathsObject = {};
  for (const [operationId, operation] of Object.entries(operations) as [string, Operation][]) {
    const path = operation.path.replace(/:(\w+)/g, '{$1}');
    paths[path] = { ...paths[path], [operation.method]: describe(operationId, operation) };
  }
  paths['/dwellings/{dwelling}/live'] = {
    get: {
      operationId: 'live',
      summary: `Server-sent events: ${Object.keys(liveEvents).join(', ')}`,
      parameters: [{ name: 'dwelling', in: 'path', required: true, schema: { type: 'string' } }],
      requestParams: { query: liveQuery },
      responses: {
        200: { description: 'a stream of events', content: { 'text/event-stream': { schema: { type: 'string' } } } },
      },
    },
  };
  return createDocument({
    openapi: '3.1.0',
    info: {
      title: 'coomb',
      version,
      description: 'Readings in, hour records, and the comparison of a ceiling before and after its lining.',
    },
    servers: [{ url: '/api/v1' }],
    paths,
  });
}

const fileContent = (types: readonly string[]) =>
  Object.fromEntries(types.map((type) => [type, { schema: { type: 'string' as const, format: 'binary' } }]));

function describe(operationId: string, operation: Operation): ZodOpenApiOperationObject {
  const { summary, params, query, body, upload, response, gives } = operation;
  const problemContent = { 'application/problem+json': { schema: problem } };
  return {
    operationId,
    summary,
    ...(params || query ? { requestParams: { ...(params ? { path: params } : {}), ...(query ? { query } : {}) } } : {}),
    ...(body ? { requestBody: { required: true, content: { 'application/json': { schema: body } } } } : {}),
    ...(upload
      ? {
          requestBody: {
            required: true,
            content: { 'application/octet-stream': { schema: { type: 'string', format: 'binary' } } },
          },
        }
      : {}),
    responses: {
      ...(gives !== undefined
        ? { 200: { description: summary, content: fileContent([gives].flat()) } }
        : response === null
          ? { 204: { description: 'done' } }
          : {
              [String(operation.status ?? 200)]: {
                description: summary,
                content: { 'application/json': { schema: response } },
              },
            }),
      400: { description: 'the request does not fit', content: problemContent },
      ...(params ? { 404: { description: 'there is no such thing', content: problemContent } } : {}),
    },
  };
}
