package server

import (
	"encoding/json"

	"github.com/sourcegraph/jsonrpc2"
)

// initialize takes what the client can do and says what the server can.
func (s *Server) initialize(params []byte) (any, error) {
	if err := json.Unmarshal(params, &s.client); err != nil {
		return nil, &jsonrpc2.Error{Code: jsonrpc2.CodeInvalidParams, Message: "the parameters are not those of initialize"}
	}
	s.encoding = agreed(s.client.Capabilities.General.PositionEncodings)
	s.mu.Lock()
	s.state = ready
	s.mu.Unlock()
	type object = map[string]any
	return object{
		"serverInfo": object{"name": s.opt.Name, "version": s.opt.Version},
		"capabilities": object{
			"positionEncoding":   s.encoding,
			"textDocumentSync":   object{"openClose": true, "change": syncIncremental},
			"completionProvider": object{"triggerCharacters": []string{" ", "{", "[", ","}},
			"hoverProvider":      true,
			"definitionProvider": true,
			"referencesProvider": true,
			"codeActionProvider": object{"codeActionKinds": []string{quickFix}},
			"inlayHintProvider":  true,
		},
	}, nil
}

// initialized asks the client to tell when a file changes by which layouts are judged.
func (s *Server) initialized([]byte) error {
	if !s.client.Capabilities.Workspace.DidChangeWatchedFiles.DynamicRegistration {
		return nil
	}
	type object = map[string]any
	s.ask("client/registerCapability", object{"registrations": []object{{
		"id": "house-standard", "method": "workspace/didChangeWatchedFiles",
		"registerOptions": object{"watchers": []object{{"globPattern": "**/*.{yaml,yml}"}}},
	}}})
	return nil
}
