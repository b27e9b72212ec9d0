// Holds bills of materials against the schema of CycloneDX 1.6, as the library of that project has it.
// usage: node sbom.mjs NPM-FOLDER BILL...
import { createRequire } from 'node:module'
import { readFileSync } from 'node:fs'

const [npm, ...bills] = process.argv.slice(2)
const { Spec, Validation } = createRequire(`${npm}/`)('@cyclonedx/cyclonedx-library')
const validator = new Validation.JsonStrictValidator(Spec.Version.v1dot6)
let faults = 0
for (const path of bills) {
	const text = readFileSync(path, 'utf8')
	const said = await validator.validate(text)
	if (said !== null) {
		faults++
		console.error(path, said)
	}
	// A bill that is not one must be refused, or the validator looks at nothing.
	if ((await validator.validate(text.replace('"bomFormat"', '"format"'))) === null) {
		faults++
		console.error('the validator takes what is no bill')
	}
}
if (bills.length === 0) faults++
console.log(`${bills.length} bills of materials, ${faults} faults`)
process.exit(faults === 0 ? 0 : 1)
