package channel

import (
	"math"
	"testing"
)

func TestStep(t *testing.T) {
	// 3.3 V/4096 = 0.8057 mV; over 2.3 mV/A 0.3503 A.
	c := plain(2.3e-3)
	c.Noise.OutputVPerRtHz = math.NaN()
	r := c.Resolution()
	near(t, "step, A", r.StepA, 0.350, 0.0005)
	near(t, "quantisation, A", r.QuantisationA, 0.35029/3.4641, 1e-4)
}

func TestNoise(t *testing.T) {
	c := plain(20e-3)
	c.Timing.Part = LowPass{CornerHz: 100e3, Order: 1}
	c.Noise = Noise{OutputVPerRtHz: 2e-6}
	// 2 uV/√Hz · √(π/2 · 100 kHz) = 792.7 uV; over 20 mV/A 39.63 mA.
	r := c.Resolution()
	near(t, "part noise, A", r.PartNoiseA, 39.633e-3, 1e-6)
	// The same noise given as rms over the part's bandwidth.
	c.Noise = Noise{OutputVPerRtHz: math.NaN(), OutputRMSV: 792.67e-6}
	near(t, "rms, A", c.Resolution().PartNoiseA, 39.633e-3, 1e-6)
	// A filter at 1 kHz: π/2 · 100·1/101 kHz = 1555.2 Hz; √ · 2 uV/20 mV = 3.944 mA both ways.
	c.Timing.Filter = LowPass{CornerHz: 1e3, Order: 1}
	r = c.Resolution()
	near(t, "filtered rms, A", r.PartNoiseA, 3.9436e-3, 1e-6)
	if !r.PartFiltered {
		t.Error("the filter is not named")
	}
	c.Noise = Noise{OutputVPerRtHz: 2e-6}
	near(t, "filtered density, A", c.Resolution().PartNoiseA, 3.9436e-3, 1e-6)

	// All together: step 3.3/4096/0.02 = 40.28 mA, /√12 = 11.628 mA; converter 0.5 count =
	// 20.14 mA; number 10 mA/√12 = 2.887 mA.
	c.Noise.ConverterRMSCount = 0.5
	c.Number = &Number{Signed: true, Width: 16, PerCountA: -0.01}
	r = c.Resolution()
	want := math.Sqrt(3.9436*3.9436 + 20.142*20.142 + 11.629*11.629 + 2.8868*2.8868)
	near(t, "rms of all, mA", r.NoiseA*1e3, want, 1e-2)
	near(t, "smallest, A", r.SmallestA(6), 6*math.Hypot(3.9436e-3, 20.142e-3)+40.283e-3, 1e-5)
	near(t, "smallest without noise is a step, A", r.SmallestA(0), 40.283e-3, 1e-5)

	// Unknown noise stays unknown.
	c.Noise = Noise{OutputVPerRtHz: math.NaN(), OutputRMSV: math.NaN()}
	if r := c.Resolution(); !math.IsNaN(r.NoiseA) || !math.IsNaN(r.SmallestA(3)) {
		t.Errorf("unknown noise: %+v", r)
	}
}

func TestAmplifierNoiseBeforeAndAfter(t *testing.T) {
	c := plain(20e-3)
	c.Noise = Noise{AmplifierVPerRtHz: 50e-9}
	c.Timing.Part = LowPass{CornerHz: 100e3, Order: 1}
	c.Timing.Filter = LowPass{CornerHz: 10e3, Order: 1}
	c.Amplifier = &Amplifier{Gain: 0.5, LowV: -1, HighV: 10}
	// 50 nV/√Hz · √(15708 Hz) = 6.267 uV at its input, 20 mV/A there: 0.3133 mA.
	near(t, "amplifier, mA", c.Resolution().AnalogNoiseA*1e3, 0.31333, 1e-4)
	c.Divider, c.DividerFirst = &Divider{TopOhm: 1, BottomOhm: 1}, true // 10 mV/A there
	near(t, "behind a divider, mA", c.Resolution().AnalogNoiseA*1e3, 0.62666, 1e-4)
}
