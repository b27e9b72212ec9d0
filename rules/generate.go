package rules

//go:generate go run busgauss/cmd/rulebook .
