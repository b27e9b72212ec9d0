// Reads N.xml with two readers of JUnit and holds them against N.json, the
// report of the same run. usage: node junit.mjs NPM-FOLDER REPORTS COUNT
import { createRequire } from 'node:module'
import { readFileSync } from 'node:fs'
import { isDeepStrictEqual } from 'node:util'

const [npm, reports, count] = process.argv.slice(2)
const require = createRequire(`${npm}/`)
const first = require('junit2json')
const second = require('test-results-parser')

const levels = ['none', 'note', 'warning', 'error']

// A message as JUnit has it: what is no character of XML is visible, and number
// signs do not stand together.
const shown = (text) => {
	while (text.includes('##')) text = text.replaceAll('##', '#\\#')
	return text.replaceAll('\ufffe', '\\ufffe').replaceAll('\uffff', '\\uffff')
}

// What the JSON report says there is, by status.
function wanted(json, failLevel) {
	const cases = { failure: [], error: [], skipped: [], passed: json.passed.length }
	for (const f of json.findings) {
		const undecided = f.verdict !== 'fail'
		const level = undecided ? 'warning' : f.level
		const below = levels.indexOf(level) < levels.indexOf(failLevel) || level === 'none'
		const text = (undecided ? 'undecided: ' : '') + f.message
		cases[below ? 'skipped' : undecided ? 'error' : 'failure'].push(`${level}: ${shown(text)} [${f.rule}]`)
	}
	for (const f of json.not_applicable) cases.skipped.push(`none: not applicable: ${shown(f.message)} [${f.rule}]`)
	for (const f of json.permitted ?? []) cases.skipped.push(`none: permitted: ${shown(f.message)} [${f.rule}]`)
	return cases
}

// The second reader undoes some escapes of attributes twice: a name that holds
// "&lt;" itself comes out as "<". Texts of elements it reads as they are.
const undone = (text) => text.replaceAll('&lt;', '<')

// The first line of a case without its place, which holds colons of its own.
const line = (text) => {
	const head = text.split('\n')[0]
	const at = head.search(/(?<=:\d+: )(error|warning|note|none): /)
	if (at < 0) throw new Error(`no place in ${head}`)
	return head.slice(at)
}

let cases = 0
let faults = 0
const fault = (...words) => {
	faults++
	console.error(...words)
}
for (let n = 1; n <= Number(count); n++) {
	const file = `${reports}/${n}.xml`
	const want = wanted(JSON.parse(readFileSync(`${reports}/${n}.json`, 'utf8')), readFileSync(`${reports}/${n}.level`, 'utf8').trim())
	const total = want.failure.length + want.error.length + want.skipped.length + want.passed
	cases += total

	const a = await first.parse(readFileSync(file, 'utf8'))
	const b = second.parse({ type: 'junit', files: [file] })
	const suites = a.testsuite ?? []

	const saidByA = { failure: [], error: [], skipped: [], passed: 0 }
	for (const c of suites.flatMap((s) => s.testcase)) {
		const kind = ['failure', 'error', 'skipped'].find((k) => c[k])
		if (!kind) saidByA.passed++
		else if (c[kind].length !== 1) fault(`${n}: ${c.name} has ${c[kind].length} outcomes`)
		else saidByA[kind].push(line(c[kind][0].inner))
	}
	for (const kind of ['failure', 'error', 'skipped']) {
		if (!isDeepStrictEqual(saidByA[kind].toSorted(), want[kind].toSorted())) {
			fault(`${n}: first reader, ${kind}: read`, saidByA[kind], 'want', want[kind])
		}
	}
	if (saidByA.passed !== want.passed) fault(`${n}: first reader: ${saidByA.passed} passed, want ${want.passed}`)
	const counts = [a.tests, a.failures, a.errors, a.skipped]
	if (!isDeepStrictEqual(counts, [total, want.failure.length, want.error.length, want.skipped.length])) fault(`${n}: first reader counts ${counts}`)

	// The second reader counts without those skipped.
	const countsOfB = [b.total, b.passed, b.failed, b.errors, b.skipped]
	if (!isDeepStrictEqual(countsOfB, [total - want.skipped.length, want.passed, want.failure.length, want.error.length, want.skipped.length])) {
		fault(`${n}: second reader counts ${countsOfB}`)
	}
	// Case by case: name, status, text of failures and errors.
	const flat = (list, of) => list.flatMap(of)
	const fromA = flat(suites, (s) => s.testcase.map((c) => {
		const bad = c.failure?.[0] ?? c.error?.[0]
		return [s.name, c.name, bad ? 'FAIL' : c.skipped ? 'SKIP' : 'PASS', bad ? bad.inner.trim() : '', bad ? undone(bad.message) : '']
	}))
	const fromB = flat(b.suites, (s) => s.cases.map((c) => {
		const bad = c.status === 'FAIL'
		return [s.name, String(c.name), c.status, bad ? String(c.stack_trace).trim() : '', bad ? undone(String(c.failure)) : '']
	}))
	if (fromA.length !== total || fromA.length !== fromB.length) fault(`${n}: ${fromA.length} and ${fromB.length} cases, want ${total}`)
	for (let i = 0; i < Math.min(fromA.length, fromB.length); i++) {
		if (!isDeepStrictEqual(fromA[i], fromB[i])) fault(`${n}: the readers differ:`, fromA[i], fromB[i])
	}
	if (b.suites.some((s) => s.cases.some((c) => c.attachments.length > 0))) fault(`${n}: an attachment`)
}
console.log(`${count} JUnit reports, ${cases} cases, ${faults} differences of two readers and the JSON report`)
process.exit(faults > 0 ? 1 : 0)
