// usage: node language-server.mjs NPM-FOLDER BINARY, in the folder of the repository
import { createRequire } from 'node:module'
import { spawn } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { pathToFileURL } from 'node:url'
import assert from 'node:assert/strict'

const [npm, binary] = process.argv.slice(2)
const require = createRequire(`${npm}/`)
const lsp = require('vscode-languageserver-protocol/node')
const { TextDocument } = require('vscode-languageserver-textdocument')

const server = spawn(binary, ['language-server'], { stdio: ['pipe', 'pipe', 'inherit'] })
const ended = new Promise((resolve) => server.on('exit', resolve))
const connection = lsp.createProtocolConnection(new lsp.StreamMessageReader(server.stdout), new lsp.StreamMessageWriter(server.stdin))
setTimeout(() => {
	console.error('the session did not end within five minutes')
	process.exit(1)
}, 300_000).unref()

// What was published last of each file, and who waits for it.
const found = new Map()
let waiting = []
connection.onNotification(lsp.PublishDiagnosticsNotification.type, (p) => {
	found.set(p.uri, p)
	waiting = waiting.filter(({ uri, ok, done }) => uri !== p.uri || !ok(p) || done(p))
})
const until = (uri, ok) =>
	new Promise((done) => {
		const p = found.get(uri)
		if (p && ok(p)) done(p)
		else waiting.push({ uri, ok, done })
	})
const registered = []
connection.onRequest(lsp.RegistrationRequest.type, (p) => {
	registered.push(...p.registrations.map((r) => r.method))
})
connection.onRequest(lsp.InlayHintRefreshRequest.type, () => null)
connection.listen()

const { capabilities } = await connection.sendRequest(lsp.InitializeRequest.type, {
	processId: process.pid,
	rootUri: pathToFileURL(process.cwd()).href,
	capabilities: {
		general: { positionEncodings: ['utf-16'] },
		textDocument: { publishDiagnostics: { relatedInformation: true }, codeAction: { codeActionLiteralSupport: { codeActionKind: { valueSet: ['quickfix'] } } } },
		workspace: { workspaceEdit: { documentChanges: true }, inlayHint: { refreshSupport: true }, didChangeWatchedFiles: { dynamicRegistration: true } },
	},
})
assert.equal(capabilities.positionEncoding, 'utf-16')
assert.equal(capabilities.textDocumentSync.change, lsp.TextDocumentSyncKind.Incremental)
await connection.sendNotification(lsp.InitializedNotification.type, {})

// A document as an editor keeps it: every change goes out as a range of it.
class Open {
	constructor(path, text) {
		this.doc = TextDocument.create(pathToFileURL(path).href, 'yaml', 1, text)
		connection.sendNotification(lsp.DidOpenTextDocumentNotification.type, {
			textDocument: { uri: this.doc.uri, languageId: 'yaml', version: 1, text },
		})
	}
	// replace puts text in the place of what stands first, wherever that is.
	replace(what, text) {
		const at = this.doc.getText().indexOf(what)
		assert.ok(at >= 0, `${what} is not in the text`)
		const change = { range: { start: this.doc.positionAt(at), end: this.doc.positionAt(at + what.length) }, text }
		const version = this.doc.version + 1
		TextDocument.update(this.doc, [change], version)
		return connection.sendNotification(lsp.DidChangeTextDocumentNotification.type, {
			textDocument: { uri: this.doc.uri, version },
			contentChanges: [change],
		})
	}
	place(what, into = 0) {
		return { textDocument: { uri: this.doc.uri }, position: this.doc.positionAt(this.doc.getText().indexOf(what) + into) }
	}
	told(ok) {
		return until(this.doc.uri, (p) => p.version === this.doc.version && ok(p.diagnostics))
	}
	at(range) {
		return this.doc.getText(range)
	}
}
const bare = new Open('fixtures/clean/ferry-thruster.yaml', readFileSync('fixtures/clean/ferry-thruster.yaml', 'utf8'))
await bare.told((d) => d.length === 0)

// Findings follow the text, and stand at the token to edit, behind characters of two units too.
await bare.replace('  SU: {reads: U', '  "\u{1f600}": {reads: Q')
const [slip] = (await bare.told((d) => d.length > 0)).diagnostics
assert.equal(slip.code, 'id-unknown')
assert.equal(bare.at(slip.range), 'Q')
await bare.replace('  "\u{1f600}": {reads: Q', '  SU: {reads: U')
await bare.told((d) => d.length === 0)
await bare.replace('linear-range: 20 mT', 'linear-range: 8 mT')
await bare.told((d) => d.some((one) => one.code === 'linear-range' && one.severity === lsp.DiagnosticSeverity.Error))
await bare.replace('linear-range: 8 mT', 'linear-range: 20 mT')
await bare.told((d) => d.length === 0)

// Numbers, names and what may stand at a place.
const hover = await connection.sendRequest(lsp.HoverRequest.type, bare.place('  SU:', 2))
assert.match(hover.contents.value, /^sensor "SU"\nfield per ampere: 0\.0\d+ mT\/A, certain to ±/)
assert.equal(bare.at(hover.range), 'SU')
const given = await connection.sendRequest(lsp.DefinitionRequest.type, bare.place('reads: W', 7))
assert.equal(bare.doc.offsetAt(given.range.start), bare.doc.getText().indexOf('  W:') + 2)
const named = await connection.sendRequest(lsp.ReferencesRequest.type, { ...bare.place('  W:', 2), context: { includeDeclaration: false } })
assert.ok(named.length >= 3 && named.every(({ range }) => bare.at(range) === 'W'))
await bare.replace('reads: U', 'reads: ')
const names = await connection.sendRequest(lsp.CompletionRequest.type, bare.place('reads: ', 7))
assert.deepEqual(names.items.map((i) => i.label).sort(), ['U', 'V', 'W'])
await bare.replace('reads: ', `reads: ${names.items.find((i) => i.label === 'U').textEdit.newText}`)
await bare.told((d) => d.length === 0)
const hints = await connection.sendRequest(lsp.InlayHintRequest.type, {
	textDocument: { uri: bare.doc.uri },
	range: { start: { line: 0, character: 0 }, end: { line: 99, character: 0 } },
})
assert.equal(hints.length, 3)
assert.match(hints[0].label, /^0\.0\d+ mT\/A$/)

// Every change that is offered is a valid one: applied as an editor does, it gives a layout that loads.
const failing = new Open('fixtures/failing/cable-car-winch.yaml', readFileSync('fixtures/failing/cable-car-winch.yaml', 'utf8'))
await failing.told((d) => d.some((one) => one.message.includes('\ntry: ')))
const whole = { start: { line: 0, character: 0 }, end: { line: 9999, character: 0 } }
const actions = await connection.sendRequest(lsp.CodeActionRequest.type, { textDocument: { uri: failing.doc.uri }, range: whole, context: { diagnostics: [] } })
assert.ok(actions.length > 0, 'a failing layout offers no change')
for (const action of actions) {
	const [change] = action.edit.documentChanges
	assert.equal(change.textDocument.version, failing.doc.version)
	const text = TextDocument.applyEdits(failing.doc, change.edits)
	assert.notEqual(text, failing.doc.getText(), action.title)
	const changed = new Open('fixtures/failing/changed.yaml', text)
	const { diagnostics } = await changed.told(() => true)
	assert.ok(diagnostics.every(({ code }) => !/^(key|value|id|yaml)-/.test(code)), `${action.title}: ${JSON.stringify(diagnostics)}`)
	await connection.sendNotification(lsp.DidCloseTextDocumentNotification.type, { textDocument: { uri: changed.doc.uri } })
	await until(changed.doc.uri, (p) => p.diagnostics.length === 0)
}

// With shields: what needs no field at once, then the rest; a key overtakes what is being solved.
const shielded = new Open('fixtures/clean/ferry-channels.yaml', readFileSync('fixtures/clean/ferry-channels.yaml', 'utf8'))
await shielded.replace('linear-range: 70 mT', 'linear-range: 40 mT')
await shielded.told((d) => d.some(({ code }) => code === 'linear-range'))
for (const n of [41, 42, 43]) await shielded.replace(`linear-range: ${n - 1} mT`, `linear-range: ${n} mT`)
await shielded.told((d) => d.some(({ message }) => message.includes('linear to 43.0 mT')))

// What cannot be answered is an error with the code of the protocol, and the session goes on.
await assert.rejects(connection.sendRequest('textDocument/unheardOf', {}), { code: lsp.ErrorCodes.MethodNotFound })
await assert.rejects(connection.sendRequest(lsp.HoverRequest.type, { textDocument: { uri: 'file:///none' }, position: { line: 0, character: 0 } }), { code: lsp.ErrorCodes.InvalidParams })

for (const open of [bare, failing, shielded]) {
	await connection.sendNotification(lsp.DidCloseTextDocumentNotification.type, { textDocument: { uri: open.doc.uri } })
	await until(open.doc.uri, (p) => p.version === undefined && p.diagnostics.length === 0)
}
assert.deepEqual(registered, ['workspace/didChangeWatchedFiles'])
await connection.sendRequest(lsp.ShutdownRequest.type)
await connection.sendNotification(lsp.ExitNotification.type)
assert.equal(await ended, 0)
console.log(`a session of an editor: ${actions.length} changes offered and applied`)
process.exit(0)
