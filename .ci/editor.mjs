// usage: node editor.mjs NPM-FOLDER LAYOUT-SCHEMA, in the folder of the repository
import { createRequire } from 'node:module'
import { readFileSync, readdirSync } from 'node:fs'
import { isDeepStrictEqual } from 'node:util'

const [npm, layoutSchema] = process.argv.slice(2)
const require = createRequire(`${npm}/`)
const { default: Ajv } = require('ajv')
const yaml = require('yaml')

let faults = 0
const fault = (...words) => {
	faults++
	console.error(...words)
}

// Strict, so that a keyword which is not of draft-07 or a misspelt one is refused.
// Types may stand in a branch whose parent has them, and "required" may name
// what a branch forbids.
const ajv = new Ajv({ strict: true, strictTypes: false, strictRequired: false, allErrors: true, validateFormats: false, allowUnionTypes: true })

const compile = (path) => {
	const schema = JSON.parse(readFileSync(path, 'utf8'))
	if (schema.$schema !== 'http://json-schema.org/draft-07/schema#') fault(`${path}: $schema is ${schema.$schema}`)
	if (!ajv.validateSchema(schema)) fault(`${path}: no schema of draft-07:`, ajv.errors)
	return ajv.compile(schema)
}

// YAML 1.2 as editors read it, with a fault for a key that stands twice.
const read = (text) => yaml.parse(text, { uniqueKeys: true, version: '1.2' })

// Every layout of the fixtures, at any depth; a layout is a file whose top level
// says so, for the reference data has other files too.
const layouts = []
const folder = (path) => {
	for (const entry of readdirSync(path, { withFileTypes: true }).toSorted((a, b) => (a.name < b.name ? -1 : 1))) {
		if (entry.isDirectory()) folder(`${path}/${entry.name}`)
		else if (/\.(ya?ml|json)$/.test(entry.name)) {
			const text = readFileSync(`${path}/${entry.name}`, 'utf8')
			if (/^("?layout"?:|\{[^]*"layout":)/m.test(text)) layouts.push([`${path}/${entry.name}`, text])
		}
	}
}
folder('fixtures')
for (const name of ['README.md', 'fixtures/examples/README.md']) {
	for (const [, block] of readFileSync(name, 'utf8').matchAll(/```yaml\n([^]*?)```/g)) {
		if (/^layout:/m.test(block)) layouts.push([name, block])
	}
}

const validate = compile(layoutSchema)
for (const [name, text] of layouts) {
	if (!validate(read(text))) fault(name, validate.errors)
}
if (layouts.length < 30) fault(`${layouts.length} layouts only`)

// The published file and the printed one are the same, and the presets are house
// standards by their own schema.
if (!isDeepStrictEqual(JSON.parse(readFileSync(layoutSchema, 'utf8')), JSON.parse(readFileSync('schema/layout.schema.json', 'utf8')))) {
	fault('the program prints another schema than it publishes')
}
const standard = compile('schema/standard.schema.json')
const presets = readdirSync('schema/standard/builtin').filter((n) => n.endsWith('.yaml'))
for (const name of presets) {
	if (!standard(read(readFileSync(`schema/standard/builtin/${name}`, 'utf8')))) fault(name, standard.errors)
}
for (const name of ['deviations', 'baseline']) compile(`schema/${name}.schema.json`)

// The validator must object to each kind of fault, or it says nothing.
const good = read(layouts.find(([n]) => n.endsWith('clean/ferry-thruster.yaml'))[1])
const breaks = {
	'version': (l) => { l.layout = 2 },
	'no bars': (l) => { delete l.bars },
	'unknown key': (l) => { l.senors = {} },
	'unknown key of a bar': (l) => { Object.values(l.bars)[0].metall = 'copper' },
	'a number for a length': (l) => { Object.values(l.bars)[0].at = [0, 0] },
	'one coordinate': (l) => { Object.values(l.bars)[0].at = ['0 mm'] },
	'glued unit': (l) => { Object.values(l.sensors)[0].axis = '180deg' },
}
for (const [name, change] of Object.entries(breaks)) {
	const broken = structuredClone(good)
	change(broken)
	if (validate(broken)) fault(`the schema lets pass: ${name}`)
}
console.log(`${layouts.length} layouts and ${presets.length} presets against the schemas, ${Object.keys(breaks).length} broken ones, ${faults} faults`)
process.exit(faults > 0 ? 1 : 0)
