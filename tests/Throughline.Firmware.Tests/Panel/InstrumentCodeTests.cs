using System.Text;
using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Firmware.Tests.Panel;

/// <summary>The C of the whole instrument against its model: display, output code and every byte of the settings memory, after every event.</summary>
public sealed class InstrumentCodeTests
{
    private const int Events = 100_000;

    public static TheoryData<string> Demos => [.. Sketches.Demos];

    [Theory]
    [MemberData(nameof(Demos))]
    public void Code_OverAHundredThousandRandomEvents_IsTheModel(string demo)
    {
        Instrument instrument = Sketches.Demo(demo);
        PanelProgram program = PanelProgram.Of(instrument)!;
        PanelTrial trial = new(program, seed: 3);
        StringBuilder given = new();
        List<string> wanted = [];
        HashSet<int> screens = [];
        int accepted = 0;
        int trimmed = 0;
        int cut = 0;
        for (int i = 0; i < Events; i++)
        {
            KeptSettings before = trial.Engine.Kept;
            PanelTrialStep step = trial.Next();
            given.Append(step).Append('\n');
            wanted.Add(Seen(trial));
            screens.Add(trial.Engine.Panel.Screen);
            trimmed += before.TrimOffset != trial.Engine.Kept.TrimOffset ? 1 : 0;
            accepted += before.Zero != trial.Engine.Kept.Zero ? 1 : 0;
            cut += step.Memory <= PanelTrialStep.Fails ? 1 : 0;
        }

        // A test in which nobody ever calibrated, or no power ever failed, would prove little.
        Assert.Equal(program.Screens.Length, screens.Count);
        Assert.Equal(instrument.Calibration is not null, accepted >= 10);
        Assert.True(cut >= 1000 || SettingsLayout.Of(instrument) is null);
        Assert.Equal(program.HasTrimScreens, trimmed > 10);

        using HostProgram host = new(Sources(instrument));
        string[] found = host.Run(given.ToString(), "-").Split('\n');
        Assert.Equal(wanted.Count + 1, found.Length);
        for (int i = 0; i < wanted.Count; i++)
        {
            Assert.True(wanted[i] == found[i], $"event {i}\nmodel {wanted[i]}\nC     {found[i]}");
        }
    }

    [Theory]
    [MemberData(nameof(Demos))]
    public void HostTest_OfTheWrittenCode_Agrees(string demo)
    {
        using HostProgram host = new(Sources(Sketches.Demo(demo)));
        Assert.Equal("400 steps, 0 failed\n", host.Run(""));
    }

    [Fact]
    public void HostTest_OfCodeThatWasTamperedWith_Fails()
    {
        // The failure states are judged the other way round.
        GeneratedFile[] files = [.. Sources(Sketches.Demo("nutrient-ph")).Select(f => f.Name == "instrument.c" ? f with { Text = f.Text.Replace(">= LOOKS_EVERY", "> 65000U", StringComparison.Ordinal) } : f)];
        Assert.Contains(files, f => f.Text.Contains("> 65000U", StringComparison.Ordinal));
        using HostProgram host = new(files);
        Assert.ThrowsAny<Xunit.Sdk.XunitException>(() => host.Run(""));
    }

    /// <summary>What a host test of everything is compiled of.</summary>
    private static GeneratedFile[] Sources(Instrument instrument) =>
        [.. FirmwareCode.Of(instrument).Files.Where(f => !f.Name.EndsWith("_test.c", StringComparison.Ordinal) || f.Name == InstrumentTestCode.Name)];

    private static string Seen(PanelTrial trial) =>
        Convert.ToHexString(trial.Engine.Panel.Display) + FormattableString.Invariant($" {trial.Engine.OutputCode} {InstrumentTestCode.Hash(trial):X16}");
}
