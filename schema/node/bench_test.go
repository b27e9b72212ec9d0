package node

import "testing"

func BenchmarkLayout(b *testing.B) {
	b.SetBytes(int64(len(layoutText)))
	for b.Loop() {
		if n, fs := Parse("f.yaml", []byte(layoutText), Limits{}); n == nil || len(fs) > 0 {
			b.Fatal(messages(fs))
		}
	}
}

func BenchmarkFiftyThousandKeys(b *testing.B) {
	data := manyKeys(50000)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if n, _ := Parse("f.yaml", data, Limits{}); n == nil {
			b.Fatal("no tree")
		}
	}
}

func BenchmarkSyntaxError(b *testing.B) {
	data := append(manyKeys(2000), "a: [1\n"...)
	data = append(data, manyKeys(2000)...)
	for b.Loop() {
		if n, fs := Parse("f.yaml", data, Limits{}); n != nil || len(fs) == 0 {
			b.Fatal("no finding")
		}
	}
}
