using Throughline.Instruments.Physics;
using Throughline.Testing;
using Xunit;

namespace Throughline.Instruments.Tests.Sensors;

public class StrainBridgeTests
{
    [Fact] // Exact node equations worked out independently to 1e-6 mV/V; agrees with tech note TN-507, about 0.1 % at 1000 µm/m for one gauge
    public void Output_OfEveryConfiguration_MatchesTable()
    {
        PublishedTable table = PublishedTable.Read("sensors", "sensors-bridge-check.csv");
        Assert.Equal(42, table.Rows.Length);
        Assert.All(table.Rows, row =>
        {
            BridgeConfiguration configuration = row["configuration"] switch
            {
                "quarter" => BridgeConfiguration.Quarter,
                "half_adjacent_opposite (bending)" => BridgeConfiguration.HalfBending,
                "half_adjacent_poisson" => BridgeConfiguration.HalfPoisson,
                "half_diagonal_same" => BridgeConfiguration.HalfDiagonal,
                "full_bending" => BridgeConfiguration.FullBending,
                "full_bending_with_poisson (type II)" => BridgeConfiguration.FullBendingPoisson,
                "full_poisson_axial" => BridgeConfiguration.FullAxial,
                var other => throw new InvalidOperationException(other),
            };
            double change = row.Number("gauge_factor") * row.Number("strain_microstrain") * 1e-6;
            double linear = row.Number("linear_mV_per_V");
            double tension = 1000 * StrainBridge.Output(configuration, change, row.Number("poisson"));
            double compression = 1000 * StrainBridge.Output(configuration, -change, row.Number("poisson"));
            Assert.Equal(row.Number("exact_mV_per_V"), tension, row.HalfDigit("exact_mV_per_V"));
            Assert.Equal(row.Number("nonlinearity_tension_percent"), 100 * (tension / linear - 1), row.HalfDigit("nonlinearity_tension_percent"));
            Assert.Equal(row.Number("nonlinearity_compression_percent"), 100 * (-compression / linear - 1), row.HalfDigit("nonlinearity_compression_percent"));
        });
    }

    [Fact]
    public void Arms_OfUnknownConfiguration_Throws() =>
        Assert.Throws<ArgumentOutOfRangeException>(() => StrainBridge.Arms((BridgeConfiguration)99, 0, 0));
}
