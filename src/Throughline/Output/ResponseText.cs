using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>Speed, attenuation, noise and stability for a person.</summary>
internal static class ResponseText
{
    private const int Indent = 2;

    /// <summary>dB. A null of the averaging is no number that anyone could measure.</summary>
    private const double Measurable = 140;

    /// <summary>Of the noise's square: what is left below this is summed up in one line.</summary>
    private const double LeastShare = 0.001;

    public static void Write(Page page, Instrument instrument, ResponseReport? report)
    {
        ReviewText.Title(page, instrument);
        Specification specification = instrument.Specification;
        page.Line($"nominal unit, measurand {Engineering.WithUnit(Engineering.Number(specification.Range.Middle), specification.Unit)}", Ink.Quiet);
        page.Line();
        if (report is null)
        {
            page.Paragraph(0, "", "The nominal unit has no operating point, so nothing can respond. `throughline check` says what stands in the way.");
            return;
        }

        Speed(page, instrument, report);
        Step(page, report);
        Attenuation(page, report);
        Noise(page, specification, report);
        Stability(page, report);
    }

    private static void Speed(Page page, Instrument instrument, ResponseReport report)
    {
        List<(string Name, string Value, string Remark)> lines = [];
        void Add(string name, double value, string text, string remark = "")
        {
            if (!double.IsNaN(value))
            {
                lines.Add((name, text, remark));
            }
        }

        string allowed = instrument.Specification.Response is { } response ? "allowed " + Engineering.Duration(response.Value) : "";
        Add("T90 at the display", report.DisplayT90, Engineering.Duration(report.DisplayT90), double.IsNaN(report.LoopT90) ? allowed : "");
        Add("  sensor and conditioning", report.ConverterT90, Engineering.Duration(report.ConverterT90));
        Add("  averaging", report.AveragingSeconds > 0 ? report.AveragingSeconds : double.NaN, Engineering.Duration(report.AveragingSeconds), "the whole window");
        Add("T90 at the " + instrument.Output.Place, report.LoopT90, Engineering.Duration(report.LoopT90), allowed);
        Add("  output", double.IsNaN(report.LoopT90) ? double.NaN : report.OutputT90, Engineering.Duration(report.OutputT90));
        Add("corner", report.CornerHertz, Engineering.Format(report.CornerHertz, "Hz", 3), "3 dB, without averaging");
        Add("50 Hz attenuated by", report.Rejection50, Attenuated(report.Rejection50), "averaging included");
        Add("60 Hz attenuated by", report.Rejection60, Attenuated(report.Rejection60), "averaging included");
        if (lines.Count == 0)
        {
            return;
        }

        page.Line("speed", Ink.Strong);
        int nameWidth = ReviewText.Widest(lines.Select(l => l.Name), 40);
        int valueWidth = ReviewText.Widest(lines.Select(l => l.Value), 24);
        foreach ((string name, string value, string remark) in lines)
        {
            page.Write(new string(' ', Indent)).Write(Cells.PadRight(name, nameWidth)).Write("   ").Write(Cells.PadLeft(value, valueWidth));
            page.Write("   ").Line(remark, Ink.Quiet);
        }

        page.Line();
    }

    private static void Step(Page page, ResponseReport report)
    {
        if (report.Step.IsEmpty)
        {
            return;
        }

        page.Line("after a step of the measurand", Ink.Strong);
        Table table = new([new("time"), new("at the converter"), new("reading")]);
        for (int i = 0; i < report.Step.Length; i += 4)
        {
            StepPoint point = report.Step[i];
            string Share(double share) => Engineering.Fixed(share * 100, 1, "%");
            table.Add([i == 0 ? "0\u2009s" : Engineering.Duration(point.Seconds), Share(point.Converter), Share(point.Reading)]);
        }

        table.Write(page, Indent);
        page.Line();
    }

    private static void Attenuation(Page page, ResponseReport report)
    {
        if (report.Frequencies.IsEmpty)
        {
            return;
        }

        page.Line("gain against direct current", Ink.Strong);
        Table table = new([new("frequency"), new("circuit", "dB"), new("phase", "°"), new("with averaging", "dB")]);
        foreach (FrequencyPoint point in report.Frequencies)
        {
            table.Add([
                Engineering.Format(point.Hertz, "Hz"), Gain(point.Decibel), Engineering.Fixed(point.Degrees, 1), Gain(point.WithAveraging),
            ]);
        }

        table.Write(page, Indent);
        page.Line();
    }

    private static void Noise(Page page, Specification specification, ResponseReport report)
    {
        if (double.IsNaN(report.NoiseRms))
        {
            return;
        }

        string Of(double value) => Engineering.WithUnit(Engineering.Number(value, 3), specification.Unit);
        page.Write("noise of the reading", Ink.Strong).Line($"   {Of(report.NoiseRms)} root mean square");
        Table table = new([new("cause", IsNumeric: false), new("root mean square"), new("share")]);
        NoiseCause[] shown = [.. report.Noise.Where(c => c.Share >= LeastShare)];
        foreach (NoiseCause cause in shown)
        {
            table.Add([cause.Part + ", " + cause.Kind, Of(cause.Rms), Share(cause.Share)]);
        }

        NoiseCause[] rest = [.. report.Noise.Where(c => c.Share < LeastShare)];
        if (rest.Length > 0)
        {
            table.Add([$"{Engineering.Fixed(rest.Length, 0)} more", Of(Math.Sqrt(rest.Sum(c => c.Rms * c.Rms))), Share(rest.Sum(c => c.Share))]);
        }

        table.Write(page, Indent);
        page.Line();

        static string Share(double share) => share < 0.0005 ? "< 0.1\u2009%" : Engineering.Fixed(share * 100, 1, "%");
    }

    private static void Stability(Page page, ResponseReport report)
    {
        if (!report.Loops.IsEmpty)
        {
            page.Line("feedback loops", Ink.Strong);
            Table table = new([new("amplifier", IsNumeric: false), new("stage", IsNumeric: false), new("crossover"), new("phase margin"), new("gain margin")]);
            foreach (LoopStability loop in report.Loops)
            {
                bool free = double.IsNaN(loop.CrossoverHertz);
                table.Add([
                    loop.Amplifier,
                    loop.Stage,
                    free ? "none" : Engineering.Format(loop.CrossoverHertz, "Hz", 3),
                    free || !double.IsFinite(loop.PhaseMarginDegrees) ? "" : Engineering.Fixed(loop.PhaseMarginDegrees, 1, "°"),
                    double.IsFinite(loop.GainMargin) ? Engineering.Fixed(20 * Math.Log10(loop.GainMargin), 1, "dB") : "no limit",
                ]);
            }

            table.Write(page, Indent);
            page.Line();
        }

        if (report.IsStable)
        {
            page.Line("Every disturbance of the network dies away.");
        }
        else
        {
            page.Write("■ ", Ink.NotMet).Line("A disturbance of the network grows: it oscillates or latches.", Ink.NotMet);
        }
    }

    private static string Attenuated(double decibel) => decibel > Measurable ? "> 140\u2009dB" : Engineering.Fixed(decibel, 1, "dB");

    private static string Gain(double decibel) => decibel < -Measurable ? "< −140" : Engineering.Fixed(decibel, 2);
}
