package server

import "encoding/json"

// The messages of LSP 3.17 that the server takes and gives, and of those the parts that it looks at.

// Codes of errors that are not of JSON-RPC.
const (
	codeNotInitialized   = -32002
	codeRequestCancelled = -32800
)

// The numbers that the protocol gives to words.
const (
	syncIncremental = 2

	severityError       = 1
	severityWarning     = 2
	severityInformation = 3

	itemProperty  = 10
	itemUnit      = 11
	itemValue     = 12
	itemReference = 18

	messageError = 1
	hintType     = 1
)

type position struct {
	Line      int `json:"line"`
	Character int `json:"character"`
}

type stretch struct {
	Start position `json:"start"`
	End   position `json:"end"`
}

type location struct {
	URI   string  `json:"uri"`
	Range stretch `json:"range"`
}

type initializeParams struct {
	Capabilities struct {
		General struct {
			PositionEncodings []string `json:"positionEncodings"`
		} `json:"general"`
		TextDocument struct {
			PublishDiagnostics struct {
				RelatedInformation bool `json:"relatedInformation"`
			} `json:"publishDiagnostics"`
			CodeAction struct {
				CodeActionLiteralSupport *struct{} `json:"codeActionLiteralSupport"`
			} `json:"codeAction"`
		} `json:"textDocument"`
		Workspace struct {
			WorkspaceEdit struct {
				DocumentChanges bool `json:"documentChanges"`
			} `json:"workspaceEdit"`
			InlayHint struct {
				RefreshSupport bool `json:"refreshSupport"`
			} `json:"inlayHint"`
			DidChangeWatchedFiles struct {
				DynamicRegistration bool `json:"dynamicRegistration"`
			} `json:"didChangeWatchedFiles"`
		} `json:"workspace"`
	} `json:"capabilities"`
}

type textDocumentItem struct {
	URI     string `json:"uri"`
	Version int    `json:"version"`
	Text    string `json:"text"`
}

type didOpenParams struct {
	TextDocument textDocumentItem `json:"textDocument"`
}

type didChangeParams struct {
	TextDocument   textDocumentItem `json:"textDocument"`
	ContentChanges []contentChange  `json:"contentChanges"`
}

// contentChange replaces a range, or the whole text where there is none.
type contentChange struct {
	Range *stretch `json:"range"`
	Text  string   `json:"text"`
}

// placeParams are those of every request about a place or a range of a document.
type placeParams struct {
	TextDocument textDocumentItem `json:"textDocument"`
	Position     position         `json:"position"`
	Range        stretch          `json:"range"`
	Context      struct {
		IncludeDeclaration bool     `json:"includeDeclaration"`
		Only               []string `json:"only"`
	} `json:"context"`
}

type cancelParams struct {
	ID json.RawMessage `json:"id"`
}

type diagnostic struct {
	Range              stretch              `json:"range"`
	Severity           int                  `json:"severity"`
	Code               string               `json:"code"`
	Source             string               `json:"source"`
	Message            string               `json:"message"`
	RelatedInformation []relatedInformation `json:"relatedInformation,omitempty"`
}

type relatedInformation struct {
	Location location `json:"location"`
	Message  string   `json:"message"`
}

type publishDiagnosticsParams struct {
	URI         string       `json:"uri"`
	Version     *int         `json:"version,omitempty"`
	Diagnostics []diagnostic `json:"diagnostics"`
}

type textEdit struct {
	Range   stretch `json:"range"`
	NewText string  `json:"newText"`
}

type completionItem struct {
	Label         string   `json:"label"`
	Kind          int      `json:"kind"`
	Detail        string   `json:"detail,omitempty"`
	Documentation string   `json:"documentation,omitempty"`
	SortText      string   `json:"sortText,omitempty"`
	TextEdit      textEdit `json:"textEdit"`
}

type completionList struct {
	IsIncomplete bool             `json:"isIncomplete"`
	Items        []completionItem `json:"items"`
}

type markup struct {
	Kind  string `json:"kind"`
	Value string `json:"value"`
}

type hover struct {
	Contents markup  `json:"contents"`
	Range    stretch `json:"range"`
}

type inlayHint struct {
	Position    position `json:"position"`
	Label       string   `json:"label"`
	Kind        int      `json:"kind"`
	Tooltip     string   `json:"tooltip,omitempty"`
	PaddingLeft bool     `json:"paddingLeft"`
}

type versionedDocument struct {
	URI     string `json:"uri"`
	Version *int   `json:"version"`
}

type documentEdit struct {
	TextDocument versionedDocument `json:"textDocument"`
	Edits        []textEdit        `json:"edits"`
}

type workspaceEdit struct {
	Changes         map[string][]textEdit `json:"changes,omitempty"`
	DocumentChanges []documentEdit        `json:"documentChanges,omitempty"`
}

type codeAction struct {
	Title       string        `json:"title"`
	Kind        string        `json:"kind"`
	Diagnostics []diagnostic  `json:"diagnostics"`
	IsPreferred bool          `json:"isPreferred"`
	Edit        workspaceEdit `json:"edit"`
}
