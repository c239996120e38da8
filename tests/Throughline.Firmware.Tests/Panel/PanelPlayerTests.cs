using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Firmware.Tests.Panel;

/// <summary>Instruments played as their users would.</summary>
public sealed class PanelPlayerTests
{
    private static PanelScript Script(string demo) => new(new PanelPlayer(Sketches.Demo(demo)));

    private static void Do(PanelScript script, params string[] steps)
    {
        foreach (string step in steps)
        {
            Assert.Null(script.Do(step));
        }
    }

    [Fact] // A worn electrode, 90 % of the theoretical slope, zero at pH 6.80: after a calibration the reading is that of the process, whatever the electrode.
    public void Calibration_OfAWornElectrode_IsKeptAndReadsRight()
    {
        PanelScript script = Script("nutrient-ph");
        Do(script, "unit slope 90 %", "unit zero 6.80 pH", "sensor 5.00", "wait 30 s");
        Assert.NotEqual(5.00, script.Player.Engine.Measurand, 0.1);
        Do(script, "MENU", "CAL", "reading steady", "SET", "reading steady", "SET");
        Assert.Equal("accepted", script.Player.Screen);
        Assert.Equal("Slope  90.0 %       ", script.Player.Lines[0]);
        Do(script, "OK", "sensor 5.00", "wait 40 s");
        Assert.Equal("pH  5.00     25.0 °C", script.Player.Lines[0]);

        // (5 − 4) / (9 − 4) of 16 mA above 4 mA.
        Assert.Equal(7.2e-3, script.Player.LoopValue, 0.05e-3);
    }

    [Fact]
    public void Calibration_OfADeadElectrode_IsRefusedAndLeavesTheReadingAlone()
    {
        PanelScript script = Script("nutrient-ph");
        Do(script, "unit slope 70 %", "sensor 5.00", "wait 30 s");
        double before = script.Player.Engine.Measurand;
        Do(script, "MENU", "CAL", "reading steady", "SET", "reading steady", "SET");
        Assert.Equal("refused", script.Player.Screen);
        Assert.Equal("Slope  70.0 %       ", script.Player.Lines[0]);
        Do(script, "OK", "sensor 5.00", "wait 40 s");
        Assert.Equal(before, script.Player.Engine.Measurand, 0.002);
    }

    [Fact]
    public void Loop_WhileTheUserCalibrates_IsHeld()
    {
        PanelScript script = Script("nutrient-ph");
        Do(script, "sensor 6.00", "wait 30 s");
        long code = script.Player.Engine.OutputCode;
        Do(script, "MENU", "CAL", "sensor 4.01", "wait 60 s");
        Assert.Equal(PanelLoop.Held, script.Player.Panel.Loop);
        Assert.Equal(code, script.Player.Engine.OutputCode);
        Do(script, "STOP", "wait 5 s");
        Assert.NotEqual(code, script.Player.Engine.OutputCode);
    }

    [Theory]
    [InlineData("nutrient-ph", 1e-3, 24e-3)]
    [InlineData("hopper-bridge", 1e-3, 22e-3)]
    public void OutputTest_FromEndToEnd_GivesTheStatedCurrents(string demo, double least, double most)
    {
        PanelScript script = Script(demo);
        Do(script, "TEST", "hold -");
        Assert.Equal(least, script.Player.LoopValue, 0.05e-3);
        Do(script, "hold +");
        Assert.Equal(most, script.Player.LoopValue, 0.05e-3);

        // It ends by itself after the file's five minutes.
        Do(script, "wait 5 min");
        Assert.Equal("measuring", script.Player.Screen);
    }

    [Fact]
    public void Failure_OfTheSensor_GivesTheFailureCurrentAndItsScreen_AndGoes()
    {
        PanelScript script = Script("cold-store-pt100");
        Do(script, "sensor broken");
        Assert.Equal("no sensor", script.Player.Screen);
        Assert.Equal(21.5e-3, script.Player.LoopValue, 0.05e-3);
        Do(script, "sensor broken no more", "wait 1 min");
        Assert.Equal("measuring", script.Player.Screen);
    }

    [Fact]
    public void Calibration_ThatIsKept_OutlivesARestartAndASpoiltByte_AndIsLostWithTheWholeMemory()
    {
        PanelScript script = Script("nutrient-ph");
        Do(script, "unit slope 90 %", "unit zero 6.80 pH", "MENU", "CAL", "reading steady", "SET", "reading steady", "SET", "OK", "sensor 5.00", "restart", "wait 40 s");
        KeptSettings kept = script.Player.Engine.Kept;
        Assert.NotEqual(0, kept.Gain);
        Assert.Equal("pH  5.00     25.0 °C", script.Player.Lines[0]);
        Do(script, "spoil memory 2", "wait 3 s", "restart");
        Assert.Equal(kept, script.Player.Engine.Kept);
        Assert.Equal("measuring", script.Player.Screen);
        Do(script, "memory corrupt", "restart");
        Assert.Equal("settings lost", script.Player.Screen);
        Assert.Equal(3.6e-3, script.Player.LoopValue, 0.05e-3);
        Assert.Equal(0, script.Player.Engine.Kept.Gain);
        Do(script, "RESET", "wait 1 s");
        Assert.Equal("measuring", script.Player.Screen);
        Do(script, "restart");
        Assert.Equal("measuring", script.Player.Screen);
    }

    [Fact]
    public void Memory_ThatWasNeverWritten_SaysSo()
    {
        PanelScript script = Script("cold-store-pt100");
        Do(script, "blank memory");
        Assert.Equal("settings lost", script.Player.Screen);
        Do(script, "RESET");
        Assert.Equal("measuring", script.Player.Screen);
    }

    [Fact]
    public void Language_ThatWasChosen_OutlivesARestart()
    {
        PanelScript script = Script("nutrient-ph");
        Do(script, "MENU", "LANG", "ENDE", "restart");
        Assert.Equal("WAHL            TEST", script.Player.Lines[3]);
    }

    [Fact]
    public void Key_ThatIsStuck_DoesNotKeepAScreenForEver()
    {
        PanelScript script = Script("nutrient-ph");
        Do(script, "TEST", "hold + 6 min");
        Assert.Equal("measuring", script.Player.Screen);
    }

    [Fact] // The ways that findings tell are steps of a script.
    public void Ways_OfTheCheckedMachine_CanBePlayed()
    {
        foreach (string demo in Sketches.Demos)
        {
            PanelSpace space = new(new PanelMachine(Sketches.Demo(demo)));
            HashSet<int> screens = [];
            for (int i = 0; i < space.States.Count; i++)
            {
                PanelState state = space.States[i];

                if (!screens.Add(state.Screen))
                {
                    continue;
                }

                PanelScript script = Script(demo);
                string way = space.Tell(space.WayTo(i));
                Assert.True(script.Do(way) is null, $"{demo}: {way}: {script.Do(way)}");
                Assert.Equal(space.Machine.ScreenOf(state).Name.Value, script.Player.Screen);
            }
        }
    }

    [Theory]
    [InlineData("press NOTHING")]
    [InlineData("wait long")]
    [InlineData("unit colour 3")]
    [InlineData("sensor warm")]
    [InlineData("dance")]
    [InlineData("hold 3 s")]
    public void Step_ThatIsNone_SaysSo(string step) => Assert.NotNull(Script("nutrient-ph").Do(step));
}
