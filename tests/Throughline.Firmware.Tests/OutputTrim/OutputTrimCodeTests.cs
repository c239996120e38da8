using System.Globalization;
using System.Text;
using Throughline.Firmware.Tests.Arithmetic;
using Xunit;

namespace Throughline.Firmware.Tests.OutputTrim;

/// <summary>The C of the trim against its model, number for number.</summary>
public sealed class OutputTrimCodeTests
{
    private static readonly OutputTrimDesign Design = OutputTrimDesign.Of(Sketches.Demo("hopper-bridge"))!;

    [Fact]
    public void Code_OfEveryPairOfEntriesAndEveryStep_IsTheModel()
    {
        using HostProgram host = new(OutputTrimCode.Write(Design));
        Assert.StartsWith("200 vectors, 0 failed", host.Run(""), StringComparison.Ordinal);
        StringBuilder given = new();
        StringBuilder wanted = new();

        // Every pair that is accepted and a margin that is not, each with another of the steps; then every step with one pair.
        const long Steps = 16 * 16_383;
        long asked = 0;
        for (long low = 3740; low <= 4260; low++)
        {
            for (long high = 19_740; high <= 20_260; high++)
            {
                asked = (asked + 7919) % (Steps + 1);
                Add(low, high, asked);
            }
        }

        for (long steps = 0; steps <= Steps; steps++)
        {
            Add(4013, 19_957, steps);
        }

        string found = host.Run(given.ToString(), "-");
        Assert.True(wanted.ToString() == found, "The C and the model differ.");

        void Add(long low, long high, long steps)
        {
            given.Append(CultureInfo.InvariantCulture, $"{low} {high} {steps}\n");
            wanted.AppendJoin(' ', OutputTrimCode.Numbers(Design, low, high, steps)).Append('\n');
        }
    }
}
