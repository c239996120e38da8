using Throughline.Analysis;
using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Firmware.Tests.OutputTrim;

/// <summary>The output trimmed on the panel, as a person with an ammeter does it.</summary>
public sealed class OutputTrimPanelTests
{
    private static PanelScript Script()
    {
        PanelScript script = new(new PanelPlayer(Sketches.Demo("hopper-bridge")));
        Do(script, "sensor 400", "wait 5 s");
        return script;
    }

    private static void Do(PanelScript script, params string[] steps)
    {
        foreach (string step in steps)
        {
            Assert.Null(script.Do(step));
        }
    }

    /// <summary>Presses a key so many times.</summary>
    private static void Press(PanelScript script, string key, int times)
    {
        for (int i = 0; i < times; i++)
        {
            Do(script, key);
        }
    }

    [Fact]
    public void Trim_GivesBothCurrents_TakesWhatIsEntered_AndIsKept()
    {
        PanelScript script = Script();
        long before = script.Player.Engine.OutputCode;
        Do(script, "MENU", "TRIM", "wait 1 s");
        Assert.Equal("Ammeter   4.000 mA", script.Player.Lines[0].TrimEnd());
        Assert.Equal(2712, script.Player.Engine.OutputCode);
        Assert.Equal(4e-3, script.Player.LoopValue, 20e-6);
        Press(script, "+", 10);
        Assert.Equal("Ammeter   4.010 mA", script.Player.Lines[0].TrimEnd());
        Do(script, "SET", "wait 1 s");
        Assert.Equal("Ammeter  20.000 mA", script.Player.Lines[0].TrimEnd());
        Assert.Equal(13_912, script.Player.Engine.OutputCode);
        Press(script, "-", 20);
        Do(script, "SET");
        Assert.Equal("trimmed", script.Player.Screen);
        Do(script, "OK", "wait 1 s");

        // 12 mA was asked for, code 8312; the meter shows more at the bottom and less at the top.
        Assert.Equal(8312, before);
        long trimmed = script.Player.Engine.OutputCode;
        Assert.InRange(HopperLine.Distance(trimmed, 4010, 19_980, 8312 * 16), -0.75, 0.75);
        Assert.NotEqual(before, trimmed);
        KeptSettings kept = script.Player.Engine.Kept;
        Do(script, "restart");
        Assert.Equal(kept, script.Player.Engine.Kept);
        Assert.Equal(trimmed, script.Player.Engine.OutputCode);

        // The output test is trimmed as well: 22 mA is code 15312, 1 mA 612.
        Do(script, "TEST", "hold +");
        Assert.InRange(HopperLine.Distance(script.Player.Engine.OutputCode, 4010, 19_980, 15_312 * 16), -0.75, 0.75);
        Do(script, "hold -");
        Assert.InRange(HopperLine.Distance(script.Player.Engine.OutputCode, 4010, 19_980, 612 * 16), -0.75, 0.75);

        // A trimmed unit gives the two currents untrimmed all the same: else a second trim would add to the first.
        Do(script, "END", "MENU", "TRIM", "wait 1 s");
        Assert.Equal(2712, script.Player.Engine.OutputCode);
    }

    [Theory]
    [InlineData("MENU · TRIM · STOP")]
    [InlineData("MENU · TRIM · hold + 2 s · STOP")]
    [InlineData("MENU · TRIM · + · SET · STOP")]
    [InlineData("MENU · TRIM · + · SET · hold - 2 s · STOP")]
    [InlineData("MENU · TRIM · + · SET · wait 10 min")]
    [InlineData("MENU · TRIM · wait 10 min")]
    public void Trim_ThatIsAbandoned_ChangesNothing(string way)
    {
        PanelScript script = Script();
        byte[] memory = [.. script.Player.Memory!.Bytes];
        long code = script.Player.Engine.OutputCode;
        KeptSettings kept = script.Player.Engine.Kept;
        Do(script, way, "wait 2 s");
        Assert.Equal("measuring", script.Player.Screen);
        Assert.Equal(memory, script.Player.Memory.Bytes);
        Assert.Equal(kept, script.Player.Engine.Kept);
        Assert.Equal(code, script.Player.Engine.OutputCode);

        // Nor is anything left over for the next one.
        Do(script, "MENU", "TRIM");
        Assert.Equal("Ammeter   4.000 mA", script.Player.Lines[0].TrimEnd());
        Assert.Equal(0, script.Player.Panel.Taken);
    }

    [Theory]
    [InlineData("MENU · TRIM · entries to be refused · SET · SET")]
    [InlineData("MENU · TRIM · SET · entries to be refused · SET")]
    public void Trim_BeyondWhatIsAccepted_IsRefusedAndChangesNothing(string way)
    {
        PanelScript script = Script();
        byte[] memory = [.. script.Player.Memory!.Bytes];
        long code = script.Player.Engine.OutputCode;
        Do(script, way);
        Assert.Equal("not trimmed", script.Player.Screen);
        Do(script, "OK", "wait 1 s");
        Assert.Equal(memory, script.Player.Memory.Bytes);
        Assert.Equal(code, script.Player.Engine.OutputCode);
    }

    [Fact]
    public void Trim_WhileTheSettingsAreLost_DoesNotMakeThemGood()
    {
        PanelScript script = Script();
        Do(script, "memory corrupt", "wait 2 s");
        byte[] memory = [.. script.Player.Memory!.Bytes];
        Do(script, "MENU", "TRIM", "+", "SET", "SET", "OK", "wait 1 s");
        Assert.Equal("settings lost", script.Player.Screen);
        Assert.Equal(memory, script.Player.Memory.Bytes);
    }

    [Theory]
    [InlineData("      enters: output trim high\n", "", "No screen lets the output trim high be entered.")]
    [InlineData("SET: take }\n      on: { accepted: trimmed,", "SET: measuring }\n      on: { accepted: trimmed,", "No key of `ammeter high` takes what is entered.")]
    [InlineData("keys: { STOP: measuring, \"-\": down, \"+\": up, SET: take }\n      on: { taken: ammeter high }", "keys: { STOP: ammeter high, \"-\": down, \"+\": up, SET: take }\n      on: { taken: ammeter high }", "No key of `ammeter low` ends the trim.")]
    [InlineData("{ keeps: output trim offset }, ", "", "No item of the settings memory keeps the output trim offset: a trim is gone with the power.")]
    [InlineData("  trim: { low: 4 mA, high: 20 mA, meter: 5.5 digit, accept: ±0.25 mA }\n", "", "`ammeter low` enters a current of the output's trim, and the loop has no trim.")]
    public void Panel_ThatCannotTrim_SaysWhatIsMissing(string sound, string other, string says)
    {
        Parsed<Instrument> parsed = Read(sound, other);
        Assert.Empty(parsed.Diagnostics);
        Finding finding = Assert.Single(new OutputTrimOnPanelCheck().Run(parsed.Value!));
        Assert.Equal(Outcome.NotMet, finding.Outcome);
        Assert.Contains(says, finding.Statement, StringComparison.Ordinal);
    }

    [Fact]
    public void Screen_ThatTrimsAndCalibrates_IsAMistakeInTheFile() =>
        Assert.Contains("not of both", Assert.Single(Read("      enters: output trim low\n", "      enters: output trim low\n      calibrates: first standard\n").Diagnostics).Message, StringComparison.Ordinal);

    private static Parsed<Instrument> Read(string sound, string other)
    {
        string file = Repository.PathOf("demo", "hopper-bridge", "instrument.yaml");
        string text = File.ReadAllText(file);
        Assert.Contains(sound, text, StringComparison.Ordinal);
        return InstrumentReader.ReadText(file, text.Replace(sound, other, StringComparison.Ordinal), Path.GetDirectoryName(file));
    }
}
