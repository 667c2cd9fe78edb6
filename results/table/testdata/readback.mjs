// Reads a CSV and a Parquet file with readers that are not ours and prints both
// as JSON: {"csv": {"columns": [], "rows": [[]]}, "parquet": the same}.
// usage: node readback.mjs MODULES CSV PARQUET
import { createRequire } from 'node:module'
import { readFileSync } from 'node:fs'
import { pathToFileURL } from 'node:url'

const [, , modules, csvFile, parquetFile] = process.argv
const require = createRequire(modules + '/')
const { parse } = require('csv-parse/sync')
const { parquetReadObjects, parquetMetadata } = await import(pathToFileURL(modules + '/hyparquet/src/node.js').href)
  .catch(() => import(pathToFileURL(modules + '/hyparquet/src/index.js').href))

const lines = parse(readFileSync(csvFile))
const bytes = readFileSync(parquetFile)
const file = bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength)
const meta = parquetMetadata(file)
const columns = meta.schema.slice(1).map((s) => s.name)
const objects = await parquetReadObjects({ file })
const plain = (v) => (typeof v === 'bigint' ? v.toString() : v === undefined ? null : v)
console.log(JSON.stringify({
  csv: { columns: lines[0], rows: lines.slice(1) },
  parquet: { columns, rows: objects.map((o) => columns.map((c) => plain(o[c]))), about: Object.fromEntries(meta.key_value_metadata.map((k) => [k.key, k.value])) },
}))
