#include "textflag.h"

// Four channels of the products of four inputs, added in the order of accumulatePlain. X1 to X4 hold the inputs, BX points to the
// weights of the first; those of the next lie 128 bytes on.
#define BLOCK(at, acc) \
	MOVUPS (at+0)(BX), X5; \
	MULPS  X1, X5; \
	MOVUPS (at+128)(BX), X6; \
	MULPS  X2, X6; \
	ADDPS  X6, X5; \
	MOVUPS (at+256)(BX), X6; \
	MULPS  X3, X6; \
	ADDPS  X6, X5; \
	MOVUPS (at+384)(BX), X6; \
	MULPS  X4, X6; \
	ADDPS  X6, X5; \
	ADDPS  X5, acc

// func accumulate(acc *[Channels]float32, w [][Channels]float32, a []float32)
// SSE alone, which every amd64 has. X8 to X15 hold the 32 sums.
TEXT ·accumulate(SB), NOSPLIT, $0-56
	MOVQ acc+0(FP), DI
	MOVQ w_base+8(FP), BX
	MOVQ w_len+16(FP), CX
	MOVQ a_base+32(FP), SI
	MOVQ a_len+40(FP), DX
	CMPQ DX, CX
	JGE  counted
	MOVQ DX, CX
counted:
	MOVUPS 0(DI), X8
	MOVUPS 16(DI), X9
	MOVUPS 32(DI), X10
	MOVUPS 48(DI), X11
	MOVUPS 64(DI), X12
	MOVUPS 80(DI), X13
	MOVUPS 96(DI), X14
	MOVUPS 112(DI), X15
	XORPS X7, X7
	JMP  check
next:
	MOVUPS (SI), X0
	MOVAPS X0, X1
	CMPPS  X7, X1, $4 // not equal
	MOVMSKPS X1, AX
	TESTL AX, AX
	JZ   skip
	MOVAPS X0, X1
	SHUFPS $0x00, X1, X1
	MOVAPS X0, X2
	SHUFPS $0x55, X2, X2
	MOVAPS X0, X3
	SHUFPS $0xAA, X3, X3
	MOVAPS X0, X4
	SHUFPS $0xFF, X4, X4
	BLOCK(0, X8)
	BLOCK(16, X9)
	BLOCK(32, X10)
	BLOCK(48, X11)
	BLOCK(64, X12)
	BLOCK(80, X13)
	BLOCK(96, X14)
	BLOCK(112, X15)
skip:
	ADDQ $16, SI
	ADDQ $512, BX
	SUBQ $4, CX
check:
	CMPQ CX, $4
	JGE  next
	MOVUPS X8, 0(DI)
	MOVUPS X9, 16(DI)
	MOVUPS X10, 32(DI)
	MOVUPS X11, 48(DI)
	MOVUPS X12, 64(DI)
	MOVUPS X13, 80(DI)
	MOVUPS X14, 96(DI)
	MOVUPS X15, 112(DI)
	RET
