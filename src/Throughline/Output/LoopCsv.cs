using System.Globalization;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>The compliance map as comma-separated values (RFC 4180, with \n), every number with all its digits; values above the map's top are written as the top.</summary>
internal static class LoopCsv
{
    public static void Write(Surroundings surroundings, LoopReport report)
    {
        TextWriter to = surroundings.Output;
        OutputSignal signal = report.Map?.Signal ?? OutputSignal.Current;
        to.Write($"layer,ambient in C,supply in V,load in ohm,greatest {signal.Noun} in {signal.Unit},needed,end of scale\n");
        if (report.Map is not { } map)
        {
            return;
        }

        foreach (ComplianceLayer layer in map.Layers)
        {
            for (int row = 0; row < map.Supplies.Length; row++)
            {
                for (int column = 0; column < map.Loads.Length; column++)
                {
                    double value = map.At(layer, row, column);
                    to.Write(
                        $"{(layer.IsWorst ? "worst parts" : "stated parts")},{Of(layer.Celsius)},{Of(map.Supplies[row])},{Of(map.Loads[column])},{Of(value)},{Word(value, map.Needed)},{Word(value, map.ScaleEnd)}\n");
                }
            }
        }
    }

    private static string Word(double value, double needed) => value >= needed ? "met" : "not met";

    private static string Of(double value) => double.IsFinite(value) ? value.ToString("R", CultureInfo.InvariantCulture) : "";
}
