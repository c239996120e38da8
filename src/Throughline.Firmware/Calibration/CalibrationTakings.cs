using Throughline.Analysis;

namespace Throughline.Firmware;

/// <summary>Calibrations to try: the same ones every time.</summary>
public static class CalibrationTakings
{
    /// <summary>
    /// Endlessly many: most of sensors about the accepted limits at random temperatures in standards as stated or entered otherwise, with a little noise, three and more of them beside their line; some with the same value entered twice as far as the entries allow,
    /// some with both readings alike, some with everything at an end of its range, some wholly at random.
    /// </summary>
    public static IEnumerable<CalibrationInputs> Random(CalibrationDesign design, ulong seed)
    {
        int points = design.Points;
        RepeatedNumbers numbers = new(seed);
        bool hasTemperature = !design.Temperatures.IsEmpty;
        (double leastSlope, double greatestSlope) = design.Law.AcceptedSlope;
        double middle = (leastSlope + greatestSlope) / 2;
        double half = Math.Max(0.02, (greatestSlope - leastSlope) / 2);
        for (int n = 0; ; n++)
        {
            int kind = n % 8;
            long[] entered = [.. design.Standards.Select(s => kind == 0 ? s.Stated : Between(s.Low, s.High))];
            long temperature = hasTemperature ? Between((long)design.Temperatures[0].Low, (long)design.Temperatures[0].High) : 0;
            long[] temperatures = [.. Enumerable.Range(0, points).Select(_ => !hasTemperature ? 0 : kind < 6 ? temperature + Between(-50, 50) : Between((long)design.Temperatures[0].Low, (long)design.Temperatures[0].High))];
            temperatures = [.. temperatures.Select(t => design.HeldReading(0, t).Temperature)];
            if (kind == 5)
            {
                entered = [.. design.Standards.Select((s, i) => i == 0 ? entered[0] : Math.Clamp(entered[0], s.Low, s.High))];
            }

            double slope = middle + (half * 1.3 * Unit());
            double zero = design.Law.AcceptedZero * 1.3 * Unit();
            CalibrationLine line = design.Law.LineOf(zero, slope);
            // Three and more standards lie beside their line besides, some of them as far as is taken for one.
            long beside = kind is 2 or 3 && points > 2 ? Between(3, (long)design.Scatter.Max(s => s.Most)) : 3;
            long[] taken =
            [
                .. Enumerable.Range(0, points).Select(i => design.HeldReading(
                    kind switch
                    {
                        6 => Between(0, 1) == 0 ? (long)design.Taken[i].Low : (long)design.Taken[i].High,
                        7 => Between((long)design.Taken[i].Low, (long)design.Taken[i].High),
                        _ => (long)Math.Clamp(Math.Round(design.ExactTaken(line, i, entered[i], temperatures[i])), -1e15, 1e15) + Between(-beside, beside),
                    },
                    0).Uncalibrated),
            ];
            if (kind == 4)
            {
                taken = [.. taken.Select(_ => taken[0])];
            }

            yield return new CalibrationInputs([.. entered], [.. temperatures], [.. taken]);
        }

        double Unit() => (Between(0, 1 << 20) / (double)(1 << 19)) - 1;

        long Between(long low, long high) => numbers.Between(low, high);
    }
}
