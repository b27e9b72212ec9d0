#include "textflag.h"

// Vector twins of the sums in dot.go; see kernel_real_amd64.s.

// The sixteen sums lie in Y0 to Y3 and at DI.
#define LOADSUMS \
	VMOVUPD 0(DI), Y0; \
	VMOVUPD 32(DI), Y1; \
	VMOVUPD 64(DI), Y2; \
	VMOVUPD 96(DI), Y3

#define STORESUMS \
	VMOVUPD Y0, 0(DI); \
	VMOVUPD Y1, 32(DI); \
	VMOVUPD Y2, 64(DI); \
	VMOVUPD Y3, 96(DI); \
	VZEROUPPER; \
	RET

// Sixteen numbers in Y4 to Y7 times those at DX.
#define ADDPRODUCTS \
	VMULPD 0(DX), Y4, Y4; \
	VMULPD 32(DX), Y5, Y5; \
	VMULPD 64(DX), Y6, Y6; \
	VMULPD 96(DX), Y7, Y7; \
	VADDPD Y4, Y0, Y0; \
	VADDPD Y5, Y1, Y1; \
	VADDPD Y6, Y2, Y2; \
	VADDPD Y7, Y3, Y3

// func dotAVX(sums *[16]float64, a, b *float64, blocks int)
TEXT ·dotAVX(SB), NOSPLIT, $0-32
	MOVQ sums+0(FP), DI
	MOVQ a+8(FP), SI
	MOVQ b+16(FP), DX
	MOVQ blocks+24(FP), CX
	LOADSUMS

step:
	VMOVUPD 0(SI), Y4
	VMOVUPD 32(SI), Y5
	VMOVUPD 64(SI), Y6
	VMOVUPD 96(SI), Y7
	ADDPRODUCTS
	ADDQ $128, SI
	ADDQ $128, DX
	DECQ CX
	JNZ  step
	STORESUMS

// func dotSingleAVX(sums *[16]float64, a *float32, b *float64, blocks int)
TEXT ·dotSingleAVX(SB), NOSPLIT, $0-32
	MOVQ sums+0(FP), DI
	MOVQ a+8(FP), SI
	MOVQ b+16(FP), DX
	MOVQ blocks+24(FP), CX
	LOADSUMS

step:
	VCVTPS2PD 0(SI), Y4
	VCVTPS2PD 16(SI), Y5
	VCVTPS2PD 32(SI), Y6
	VCVTPS2PD 48(SI), Y7
	ADDPRODUCTS
	ADDQ $64, SI
	ADDQ $128, DX
	DECQ CX
	JNZ  step
	STORESUMS

// func dotTwoAVX(sums *[16]float64, a, b, c *float64, blocks int)
TEXT ·dotTwoAVX(SB), NOSPLIT, $0-40
	MOVQ sums+0(FP), DI
	MOVQ a+8(FP), SI
	MOVQ b+16(FP), DX
	MOVQ c+24(FP), BX
	MOVQ blocks+32(FP), CX
	LOADSUMS

step:
	VMOVUPD 0(SI), Y4
	VMOVUPD 32(SI), Y5
	VMULPD 0(DX), Y4, Y6
	VMULPD 32(DX), Y5, Y7
	VMULPD 0(BX), Y4, Y8
	VMULPD 32(BX), Y5, Y9
	VADDPD Y6, Y0, Y0
	VADDPD Y7, Y1, Y1
	VADDPD Y8, Y2, Y2
	VADDPD Y9, Y3, Y3
	ADDQ $64, SI
	ADDQ $64, DX
	ADDQ $64, BX
	DECQ CX
	JNZ  step
	STORESUMS
