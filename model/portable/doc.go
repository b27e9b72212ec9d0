// Package portable holds arithmetic whose results are the same to the last bit on every processor.
//
// The language lets a compiler fuse a product with the sum after it, which rounds once in place of twice; some processors
// have such an instruction and some not. A product written float64(a * b) is rounded always. Complex products and quotients
// have no such form, and the elementary functions of the standard library are fused with the rest of it, or are written in
// assembly for one processor and in Go for another; on amd64 even one program gives two answers of Exp, as the processor has fused
// instructions or not. Here they are once, in Go, with every product rounded. Square roots, Floor and the like are exact everywhere
// and stay those of package math.
//
// The elementary functions are those of the standard library of Go 1.26, which follow FreeBSD's msun and Cephes; the files say
// which, and carry the notices that came with them. Only the products are rounded, and names of package math are written out.
// Copyright 2009 The Go Authors; their licence, in the style of BSD, stands among the notices of the program.
package portable
