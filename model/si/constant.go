package si

import "math"

// Mu0HPerM is the magnetic constant μ0 in henry per metre, 4π × 10⁻⁷.
//
// It is the exact value of the SI before 2019, kept because closed forms and
// published tables were made with it. In the SI of 2019 μ0 is measured: CODATA
// 2018 recommends 1.256 637 062 12(19) × 10⁻⁶ H/m (5.5 × 10⁻¹⁰ higher, relative),
// CODATA 2022 1.256 637 061 27(20) × 10⁻⁶ H/m (1.3 × 10⁻¹⁰ lower). Both are far
// below anything a layout can know.
//
// Source: BIPM, The International System of Units, 8th ed. (2006), definition
// of the ampere; CODATA recommended values of 2018 and 2022.
const Mu0HPerM = 4e-7 * math.Pi
