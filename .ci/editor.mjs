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
const presets = readdirSync('schema/policyfile/builtin').filter((n) => n.endsWith('.yaml'))
for (const name of presets) {
	if (!standard(read(readFileSync(`schema/policyfile/builtin/${name}`, 'utf8')))) fault(name, standard.errors)
}
const houseSchemas = { standard, deviations: compile('schema/deviations.schema.json'), baseline: compile('schema/baseline.schema.json') }

// Every standard, file of deviations and baseline of the fixtures, and the blocks of
// the documents that are one.
const houses = []
for (const name of readdirSync('fixtures/standard').filter((n) => n.endsWith('.yaml'))) {
	houses.push([`fixtures/standard/${name}`, readFileSync(`fixtures/standard/${name}`, 'utf8')])
}
for (const [, block] of readFileSync('README.md', 'utf8').matchAll(/```yaml\n([^]*?)```/g)) {
	if (/^(standard|deviations|baseline):/m.test(block)) houses.push(['README.md', block])
}
for (const [name, text] of houses) {
	const value = read(text)
	const format = Object.keys(houseSchemas).find((f) => f in value)
	if (!format) fault(name, 'says no format')
	else if (!houseSchemas[format](value)) fault(name, houseSchemas[format].errors)
}
if (houses.length < 4) fault(`${houses.length} files of house standards only`)

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
const houseOf = (format) => read(houses.find(([n]) => n.endsWith(`busgauss-${format}.yaml`))[1])
const houseBreaks = {
	'standard: version': ['standard', (s) => { s.standard = 2 }],
	'standard: unknown key': ['standard', (s) => { s.rule = {} }],
	'standard: level': ['standard', (s) => { s.rules['stray-ratio'].level = 'fatal' }],
	'standard: class without channels': ['standard', (s) => { delete s.classes.motor.channels }],
	'standard: house rule without a message': ['standard', (s) => { delete s['house-rules']['room-to-solder'].message }],
	'deviations: no approver': ['deviations', (d) => { delete d.permits[0].approver }],
	'deviations: no last day': ['deviations', (d) => { delete d.permits[0].until }],
	'deviations: a number for a bound': ['deviations', (d) => { d.permits[0]['up-to'] = [7] }],
	'baseline: no rule': ['baseline', (b) => { delete b.findings[0].rule }],
	'baseline: verdict': ['baseline', (b) => { b.findings[0].verdict = 'pass' }],
}
for (const [name, [format, change]] of Object.entries(houseBreaks)) {
	const broken = houseOf(format)
	change(broken)
	if (houseSchemas[format](broken)) fault(`the schema lets pass: ${name}`)
}
console.log(`${houses.length} files of house standards, ${Object.keys(houseBreaks).length} broken ones`)
console.log(`${layouts.length} layouts and ${presets.length} presets against the schemas, ${Object.keys(breaks).length} broken ones, ${faults} faults`)
process.exit(faults > 0 ? 1 : 0)
