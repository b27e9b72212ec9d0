package sarif

// The types below are the part of SARIF 2.1.0 that this writer uses, under the
// names of the standard. Section numbers are those of OASIS "Static Analysis
// Results Interchange Format (SARIF) Version 2.1.0 Plus Errata 01". Fields
// without omitempty are written even when they are zero, for readers ask for
// them or take another value for granted.

// log is the whole file, section 3.13.
type log struct {
	Schema  string `json:"$schema"`
	Version string `json:"version"`
	Runs    []run  `json:"runs"`
}

// run is section 3.14. Results is never nil: null would say that analysis
// never began.
type run struct {
	Tool               tool                       `json:"tool"`
	Invocations        []invocation               `json:"invocations"`
	AutomationDetails  automationDetails          `json:"automationDetails"`
	OriginalURIBaseIDs map[string]baseDescription `json:"originalUriBaseIds"`
	Artifacts          []artifact                 `json:"artifacts"`
	ColumnKind         string                     `json:"columnKind"`
	Results            []result                   `json:"results"`
}

// tool is section 3.18.
type tool struct {
	Driver driver `json:"driver"`
}

// driver is the toolComponent of section 3.19.
type driver struct {
	Name            string                   `json:"name"`
	SemanticVersion string                   `json:"semanticVersion,omitempty"`
	Version         string                   `json:"version,omitempty"`
	InformationURI  string                   `json:"informationUri,omitempty"`
	Rules           []reportingDescriptor    `json:"rules"`
	Notifications   []notificationDescriptor `json:"notifications"`
}

// reportingDescriptor describes a rule, section 3.49.
type reportingDescriptor struct {
	ID                   string        `json:"id"`
	Name                 string        `json:"name,omitempty"`
	ShortDescription     text          `json:"shortDescription"`
	FullDescription      text          `json:"fullDescription"`
	Help                 text          `json:"help"`
	DefaultConfiguration configuration `json:"defaultConfiguration"`
}

// notificationDescriptor describes a kind of notification, section 3.49 too.
type notificationDescriptor struct {
	ID               string `json:"id"`
	Name             string `json:"name"`
	ShortDescription text   `json:"shortDescription"`
	FullDescription  text   `json:"fullDescription"`
	Help             text   `json:"help"`
}

// configuration is the reportingConfiguration of section 3.50.
type configuration struct {
	Level string `json:"level"`
}

// text is the multiformatMessageString of section 3.12 and, without markdown,
// the message of section 3.11.
type text struct {
	Text     string `json:"text"`
	Markdown string `json:"markdown,omitempty"`
}

// invocation is section 3.20. It has no time, account or command line: the same
// input gives the same bytes (appendix F).
type invocation struct {
	ExecutionSuccessful bool           `json:"executionSuccessful"`
	ExitCode            int            `json:"exitCode"`
	Notifications       []notification `json:"toolExecutionNotifications,omitempty"`
}

// notification is section 3.58.
type notification struct {
	Descriptor descriptorReference `json:"descriptor"`
	Level      string              `json:"level"`
	Message    text                `json:"message"`
	Locations  []location          `json:"locations,omitempty"`
}

// descriptorReference is the reportingDescriptorReference of section 3.52.
type descriptorReference struct {
	ID    string `json:"id"`
	Index int    `json:"index"`
}

// automationDetails is the runAutomationDetails of section 3.17.
type automationDetails struct {
	ID string `json:"id"`
}

// baseDescription is an artifactLocation, section 3.4, without a URI: where the
// root lies on this machine is nobody's business.
type baseDescription struct {
	Description text `json:"description"`
}

// artifact is section 3.24.
type artifact struct {
	Location artifactLocation `json:"location"`
	Roles    []string         `json:"roles"`
	Hashes   hashes           `json:"hashes"`
}

// hashes holds the digest under its IANA name, section 3.24.11.
type hashes struct {
	SHA256 string `json:"sha-256"`
}

// artifactLocation is section 3.4. Index points into run.artifacts; nil when
// the file is not among them.
type artifactLocation struct {
	URI       string `json:"uri"`
	URIBaseID string `json:"uriBaseId"`
	Index     *int   `json:"index,omitempty"`
}

// result is section 3.27. Only assemble makes one. Suppressions is nil except in
// the audit form, where every result has a list, be it empty.
type result struct {
	RuleID              string            `json:"ruleId"`
	RuleIndex           int               `json:"ruleIndex"`
	Kind                string            `json:"kind"`
	Level               string            `json:"level"`
	Message             text              `json:"message"`
	Locations           []location        `json:"locations"`
	RelatedLocations    []location        `json:"relatedLocations,omitempty"`
	PartialFingerprints map[string]string `json:"partialFingerprints"`
	BaselineState       string            `json:"baselineState,omitempty"`
	Fixes               []fix             `json:"fixes,omitempty"`
	Suppressions        *[]suppression    `json:"suppressions,omitempty"`
	Properties          properties        `json:"properties"`
}

// fix is section 3.55: a proposal, which nothing applies by itself.
type fix struct {
	Description     text             `json:"description"`
	ArtifactChanges []artifactChange `json:"artifactChanges"`
}

// artifactChange is section 3.56.
type artifactChange struct {
	ArtifactLocation artifactLocation `json:"artifactLocation"`
	Replacements     []replacement    `json:"replacements"`
}

// replacement is section 3.57.
type replacement struct {
	DeletedRegion   region  `json:"deletedRegion"`
	InsertedContent content `json:"insertedContent"`
}

// content is section 3.3.
type content struct {
	Text string `json:"text"`
}

// suppression is section 3.35. Approver, ticket and last day have no property of
// their own there.
type suppression struct {
	Kind          string                `json:"kind"`
	Status        string                `json:"status"`
	Justification string                `json:"justification"`
	Location      location              `json:"location"`
	Properties    suppressionProperties `json:"properties"`
}

type suppressionProperties struct {
	Until    string `json:"until,omitempty"` // the last day, ISO 8601
	Approver string `json:"approver,omitempty"`
	Ticket   string `json:"ticket,omitempty"`
	Baseline bool   `json:"baseline,omitempty"` // recorded in the baseline
}

// location is section 3.28.
type location struct {
	ID               int               `json:"id,omitempty"`
	Message          *text             `json:"message,omitempty"`
	PhysicalLocation physicalLocation  `json:"physicalLocation"`
	LogicalLocations []logicalLocation `json:"logicalLocations,omitempty"`
}

// physicalLocation is section 3.29.
type physicalLocation struct {
	ArtifactLocation artifactLocation `json:"artifactLocation"`
	Region           region           `json:"region"`
}

// region is section 3.30. Columns count code points; EndColumn is one past the
// last character.
type region struct {
	StartLine   int `json:"startLine"`
	StartColumn int `json:"startColumn"`
	EndLine     int `json:"endLine"`
	EndColumn   int `json:"endColumn"`
}

// logicalLocation is section 3.33.
type logicalLocation struct {
	FullyQualifiedName string `json:"fullyQualifiedName"`
	Kind               string `json:"kind"`
}

// properties is the property bag (section 3.8) of a result. Numbers that are
// not finite are left out: JSON has no word for them.
type properties struct {
	Rule        string   `json:"rule,omitempty"` // of an undecided result: the rule that could not decide
	Verdict     string   `json:"verdict"`
	Object      string   `json:"object,omitempty"`
	Others      []string `json:"others,omitempty"`
	Cause       string   `json:"cause,omitempty"`
	Measured    *float64 `json:"measured,omitempty"`
	Limit       *float64 `json:"limit,omitempty"`
	AtLeast     *bool    `json:"atLeast,omitempty"` // the limit is a floor
	Unit        string   `json:"unit,omitempty"`
	Margin      *float64 `json:"margin,omitempty"`    // share of the limit, negative for a miss
	Certainty   *float64 `json:"certainty,omitempty"` // relative half width of the numerical bound
	LimitOrigin string   `json:"limitOrigin,omitempty"`
	Details     []string `json:"details,omitempty"` // lines of a table behind the number, in columns
}
