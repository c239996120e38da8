using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>How a value is entered, as whole numbers.</summary>
/// <param name="Unit">What 1 is, in the unit that is shown: mA for the test current, else the specification's.</param>
/// <param name="Step">One press of a key.</param>
/// <param name="Start">Where it begins.</param>
public sealed record PanelProgramEntry(PanelSource Source, double Unit, long Low, long High, long Step, long Start)
{
    /// <summary>Some steps up or down: to a whole number of steps, within the ends.</summary>
    public long Moved(long from, int steps) => Math.Clamp((long)Rounding.Divide(from + (steps * Step), Step, truncates: false) * Step, Low, High);

    public EntryClass ClassOf(long value) => value >= High ? EntryClass.Greatest : value <= Low ? EntryClass.Least : EntryClass.Between;

    /// <summary>What is entered where there is nothing to enter.</summary>
    internal static PanelProgramEntry Nothing(PanelSource source) => new(source, 1, 0, 0, 1, 0);

    /// <summary>In the finest decimal unit that the ends, the beginning and the step need; null when there is no such value.</summary>
    internal static PanelProgramEntry? Create(Instrument instrument, PanelSource source)
    {
        if (PanelValues.EntryOf(instrument, source) is not { } range)
        {
            return null;
        }

        const int MostPlaces = 6;
        double scale = PanelValues.Scale(instrument, source);
        double unit = 1;
        for (int places = 0; places < MostPlaces && !IsWhole(unit); places++)
        {
            unit /= 10;
        }

        return new PanelProgramEntry(source, unit, Whole(range.Low), Whole(range.High), Math.Max(1, Whole(range.Step)), Whole(range.Start));

        bool IsWhole(double unit) =>
            new[] { range.Low, range.High, range.Step, range.Start }.All(v => Math.Abs((v * scale / unit) - Math.Round(v * scale / unit)) < 1e-6);

        long Whole(double value) => (long)Math.Clamp(Math.Round(value * scale / unit), -int.MaxValue / 4, int.MaxValue / 4);
    }
}
