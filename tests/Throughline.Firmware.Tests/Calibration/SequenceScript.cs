using System.Globalization;
using System.Text;

namespace Throughline.Firmware.Tests.Calibration;

/// <summary>Random events for a sequence, and a program in C that is told them.</summary>
internal static class SequenceScript
{
    /// <summary>Events as lines, and what the model says after each: steady, seconds, taken, working zero and gain, then the numbers of the last judgement.</summary>
    public static (string Events, string States) Random(CalibrationDesign design, int count)
    {
        Random random = new(4711);
        CalibrationSequence sequence = new(design);
        CalibrationResult last = default;
        StringBuilder events = new();
        StringBuilder states = new();
        using IEnumerator<CalibrationInputs> takings = CalibrationTakings.Random(design, 17).GetEnumerator();
        takings.MoveNext();
        int standard = 0;
        for (int i = 0; i < count; i++)
        {
            int what = random.Next(100);
            if (what < 60)
            {
                long reading = takings.Current.Taken[standard] + (random.Next(8) == 0 ? random.Next(-2000, 2000) : random.Next(-3, 4));
                long temperature = takings.Current.Temperature[standard];
                (reading, temperature) = design.HeldReading(reading, temperature);
                long milliseconds = random.Next(4) == 0 ? random.Next(65536) : random.Next(3000);
                events.Append(CultureInfo.InvariantCulture, $"o {reading} {temperature} {milliseconds}\n");
                sequence.Offer(reading, temperature, milliseconds);
            }
            else if (what < 75)
            {
                events.Append(CultureInfo.InvariantCulture, $"t {standard} 0 0\n");
                if (sequence.Take(standard))
                {
                    standard = (standard + 1) % design.Points;
                }
            }
            else if (what < 85)
            {
                (long low, long high) = (design.Standards.Min(s => s.Low), design.Standards.Max(s => s.High));
                int to = random.Next(design.Points);
                long value = random.Next(3) == 0 ? random.NextInt64(low, high + 1) : takings.Current.Entered[to];
                events.Append(CultureInfo.InvariantCulture, $"e {to} {value} 0\n");
                sequence.Enter(to, value);
            }
            else if (what < 93)
            {
                events.Append("j 0 0 0\n");
                last = sequence.Judge();
            }
            else if (what < 95)
            {
                events.Append("a 0 0 0\n");
                sequence.Abandon();
            }
            else
            {
                events.Append("b 0 0 0\n");
                sequence.Begin();
                standard = 0;
                takings.MoveNext();
            }

            states.Append(CultureInfo.InvariantCulture, $"{(sequence.IsSteady ? 1 : 0)} {sequence.SecondsSteady} {sequence.Taken} {sequence.Working.Zero} {sequence.Working.Gain} ");
            states.AppendJoin(' ', CalibrationCode.Numbers(last)).Append('\n');
        }

        return (events.ToString(), states.ToString());
    }

    public static string Driver(CalibrationDesign design)
    {
        bool hasGain = design.Arithmetic.Gain is not null;
        string entered = Word.For(design.Entered.Min(n => n.Low), design.Entered.Max(n => n.High), 64).CType;
        string temperature = design.Temperatures.IsEmpty ? "" : $"({design.Temperatures[0].Word.CType})b, ";
        return $$"""
            #include <inttypes.h>
            #include <stdio.h>
            #include <string.h>
            #include "calibration.h"

            int main(void)
            {
                struct calibration c;
                struct calibration_result r;
                char what;
                int64_t a, b, m;
                memset(&r, 0, sizeof r);
                calibration_start(&c);
                while (scanf(" %c %" SCNd64 " %" SCNd64 " %" SCNd64, &what, &a, &b, &m) == 4)
                {
                    switch (what)
                    {
                    case 'o': calibration_offer(&c, ({{design.Arithmetic.Uncalibrated.Word.CType}})a, {{temperature}}(uint16_t)m); break;
                    case 't': (void)calibration_take(&c, (uint8_t)a); break;
                    case 'e': calibration_enter(&c, (uint8_t)a, ({{entered}})b); break;
                    case 'j': (void)calibration_judge(&c, &r); break;
                    case 'a': calibration_abandon(&c); break;
                    default: calibration_begin(&c); break;
                    }
                    printf("%u %u %u %" PRId64 " %" PRId64 " %u %u %" PRId64 " %" PRId64 " %" PRId64 "\n", calibration_is_steady(&c), calibration_seconds_steady(&c), c.taken_mask,
                        (int64_t)c.working.zero, (int64_t){{(hasGain ? "c.working.gain" : "0")}}, r.refused, r.slope, (int64_t)r.zero, (int64_t)r.found.zero, (int64_t){{(hasGain ? "r.found.gain" : "0")}});
                }
                return 0;
            }

            """;
    }
}
