using System.Collections;
using System.Diagnostics;
using System.Globalization;
using System.Reflection;
using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>Many units at once against the same units one by one. 1e-10 is what a virtual batch is held to; the two solvers eliminate in different orders.</summary>
public sealed class BatchTests(ITestOutputHelper output)
{
    [Fact] // Reference: the scalar solver, itself checked against NumPy in RandomLinearTests
    public void Solve_RandomLinearNetworks_EqualsScalar() =>
        CompareAll(Enumerable.Range(0, 300).Select(static seed => ($"network {seed}", RandomNetwork.Create(seed).ToCircuit())), 0.2, 0.01);

    // Many of these stand at the very corner of a piecewise law, which half of the lanes cross.
    [Fact] // Reference: the scalar solver, itself checked for conservation over the same set
    public void Solve_NonlinearSet_EqualsScalar() => CompareAll(NonlinearSet.All(), 0.02, 0.2);

    [Fact] // Reference: the scalar solver
    public void Solve_EveryKindOfElement_EqualsScalar() => CompareAll(BatchStages.All(), 0.05, 0.05);

    [Fact]
    public void All_OfStages_HoldEveryKindOfElement()
    {
        PropertyInfo elements = typeof(Network).GetProperty("Elements", BindingFlags.Instance | BindingFlags.NonPublic)!;
        HashSet<Type> used = [.. BatchStages.All().SelectMany(stage => ((IEnumerable)elements.GetValue(stage.Circuit.Network)!).Cast<object>()).Select(static element => element.GetType())];
        Type element = used.First(static type => type.Name == "Resistor").BaseType!.BaseType!;
        // A part that has come off is not built but made from another.
        string[] missing = [.. typeof(Network).Assembly.GetTypes().Where(type => type.IsSubclassOf(element) && !type.IsAbstract && type.Name != "Absent" && !used.Contains(type)).Select(static type => type.Name)];
        Assert.Empty(missing);
        Assert.True(used.Count >= 15, $"only {used.Count} kinds");
    }

    [Fact]
    public void Solve_LanesInOtherPlacesAndBlocks_IsBitIdentical()
    {
        foreach ((string name, Circuit circuit) in BatchStages.All().Concat(NonlinearSet.All().Where((_, k) => k % 7 == 0)))
        {
            var check = new BatchCheck(circuit, BatchCheck.AllSlots(circuit));
            BatchRun wide = check.Program.CreateRun(40);
            check.Fill(wide, 0.05, 1);
            wide.Prepare();
            wide.Solve();
            // The same units backwards, among eight at a time.
            BatchRun narrow = check.Program.CreateRun(8);
            for (int block = 0; block < 5; block++)
            {
                foreach (int slot in check.Slots.Fixed.Concat(check.Slots.Sources))
                {
                    for (int lane = 0; lane < 8; lane++)
                        narrow.Slot(slot)[lane] = wide.Slot(slot)[39 - (8 * block) - lane];
                }

                for (int lane = 0; lane < 8; lane++)
                    narrow.Kelvin[lane] = wide.Kelvin[39 - (8 * block) - lane];
                narrow.Prepare();
                narrow.Solve();
                for (int lane = 0; lane < 8; lane++)
                {
                    int other = 39 - (8 * block) - lane;
                    Assert.Equal(wide.IsSettled(other), narrow.IsSettled(lane));
                    for (int probe = 0; wide.IsSettled(other) && probe < check.Program.ReadingCount; probe++)
                        Assert.True(BitConverter.DoubleToInt64Bits(wide.Reading(probe)[other]) == BitConverter.DoubleToInt64Bits(narrow.Reading(probe)[lane]), $"{name}, unit {other}, probe {probe}");
                }
            }
        }
    }

    [Fact]
    public void Solve_CompiledOrInterpreted_IsBitIdentical()
    {
        foreach ((string name, Circuit circuit) in BatchStages.All().Concat(NonlinearSet.All().Where((_, k) => k % 5 == 0)))
        {
            var check = new BatchCheck(circuit, BatchCheck.AllSlots(circuit));
            // Eight lanes are one vector, sixteen a pair of them.
            foreach (int lanes in (int[])[8, 16])
            {
                BatchRun compiled = check.Program.CreateRun(lanes);
                BatchRun interpreted = check.Program.CreateRun(lanes, isCompiled: false);
                foreach (BatchRun run in (BatchRun[])[compiled, interpreted])
                {
                    check.Fill(run, 0.05, 1);
                    run.Prepare();
                    run.Solve();
                    run.SolveSources(BatchStart.Last);
                }

                AssertSame(check, compiled, interpreted, name);
            }
        }
    }

    [Theory] // The same program in a process that may not use the machine's wider vectors
    [InlineData("DOTNET_EnableAVX512")]
    [InlineData("DOTNET_EnableAVX2")]
    [InlineData("DOTNET_EnableHWIntrinsic")]
    public void Solve_OnNarrowerVectors_IsBitIdentical(string without)
    {
        string program = Path.ChangeExtension(typeof(BatchTests).Assembly.Location, OperatingSystem.IsWindows() ? ".exe" : null)!;
        var start = new ProcessStartInfo(program, ["-method", "*.Checksum_OfStages_IsPrinted", "-showLiveOutput"]) { RedirectStandardOutput = true };
        start.Environment[without] = "0";
        using Process process = Process.Start(start)!;
        string text = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.Contains(Checksum(), text, StringComparison.Ordinal);
    }

    [Fact]
    public void Checksum_OfStages_IsPrinted()
    {
        string checksum = Checksum();
        output.WriteLine(checksum);
        Assert.Equal(checksum, Checksum());
    }

    [Fact]
    public void Solve_AfterManyOthers_IsThatOfAFreshRun()
    {
        foreach ((string name, Circuit circuit) in BatchStages.All())
        {
            var check = new BatchCheck(circuit, BatchStages.Slots(circuit));
            BatchRun used = check.Program.CreateRun(16);
            check.Fill(used, 0.05, 1);
            used.Prepare();
            for (int turn = 0; turn < 5; turn++)
            {
                check.Fill(used, 0.05, 10 + turn, fills: false);
                used.Solve();
                check.Compare(used, name);
                BatchRun fresh = check.Program.CreateRun(16);
                check.Fill(fresh, 0.05, 1);
                check.Fill(fresh, 0.05, 10 + turn, fills: false);
                fresh.Prepare();
                fresh.Solve();
                AssertSame(check, used, fresh, name);
            }

            // With the same matrix nothing has to be eliminated anew for other sources.
            foreach (int slot in check.Slots.Sources)
                used.Slot(slot)[3] *= 1.01;
            used.SolveSources();
            BatchRun again = check.Program.CreateRun(16);
            foreach (int slot in check.Slots.Fixed.Concat(check.Slots.Changing).Concat(check.Slots.Sources))
                used.Slot(slot).CopyTo(again.Slot(slot));
            used.Kelvin.CopyTo(again.Kelvin);
            again.Prepare();
            again.Solve();
            AssertSame(check, used, again, name);
        }
    }

    [Fact]
    public void Solve_FromLast_EqualsScalarAndIsReproducible()
    {
        foreach ((string name, Circuit circuit) in BatchStages.All())
        {
            var check = new BatchCheck(circuit, BatchStages.Slots(circuit));
            BatchRun first = check.Program.CreateRun(16);
            BatchRun second = check.Program.CreateRun(16);
            foreach (BatchRun run in (BatchRun[])[first, second])
            {
                check.Fill(run, 0.05, 1);
                run.Prepare();
                for (int turn = 0; turn < 4; turn++)
                {
                    check.Fill(run, 0.05, 20 + turn, fills: false);
                    run.Solve(BatchStart.Last);
                }
            }

            check.Compare(first, name);
            AssertSame(check, first, second, name);
        }
    }

    [Fact] // Closed form: an amplifier of gain 10 on 5 V leaves its linear piece above 0.49 V in with 0.1 V of swing lost
    public void Solve_LaneDrivenIntoALimit_IsNotSettled()
    {
        Circuit circuit = BatchStages.Gain10();
        int input = circuit.Slot("VI");
        var check = new BatchCheck(circuit, new BatchSlots { Sources = [input] });
        BatchRun run = check.Program.CreateRun(8);
        double[] volts = [0.1, 0.2, 0.3, 0.489, 0.491, 0.6, 0.002, 0.4];
        volts.CopyTo(run.Slot(input));
        run.Prepare();
        run.Solve();
        for (int lane = 0; lane < 8; lane++)
            Assert.Equal(volts[lane] < 0.49 && volts[lane] > 0.005, run.IsSettled(lane));
        Assert.False(run.AllSettled());
        check.Compare(run, "gain of 10");

        var unlimited = new BatchCheck(circuit, new BatchSlots { Sources = [input] }, [Probe.Voltage(circuit.Node("o"), circuit.Node("0"))], checksLimits: false);
        run = unlimited.Program.CreateRun(8);
        volts.CopyTo(run.Slot(input));
        run.Prepare();
        run.Solve();
        Assert.True(run.AllSettled());
        // Ideal but for its limits: the output is ten times the input to rounding.
        for (int lane = 0; lane < 8; lane++)
            Assert.Equal(10 * volts[lane], run.Reading(0)[lane], 1e-13);
    }

    [Fact]
    public void Solve_LaneWithWhatIsNoNumberOrOutOfReach_IsNotSettled()
    {
        Circuit circuit = BatchStages.Gain10();
        int feedback = circuit.Slot("R2");
        var check = new BatchCheck(circuit, new BatchSlots { Fixed = [feedback] });
        BatchRun run = check.Program.CreateRun(8);
        run.Slot(feedback)[1] = double.NaN;
        run.Slot(feedback)[2] = 0;
        run.Slot(feedback)[3] = 1e9;
        run.Prepare();
        run.Solve();
        Assert.True(run.IsSettled(0));
        Assert.False(run.IsSettled(1));
        Assert.False(run.IsSettled(3));
        Assert.True(run.IsSettled(7));
        check.Compare(run, "feedback", 1e-10);
    }

    [Fact] // Reference: the scalar solver. A load of 0 Ω and one a thousand times the nominal one have the same law.
    public void Solve_ChangingResistance_MayBeShortOrLarge()
    {
        Circuit circuit = BatchStages.CurrentSink();
        int load = circuit.Slot("RL");
        var check = new BatchCheck(circuit, new BatchSlots { Changing = [load] }, [Probe.Current(circuit.Element("Q1"))]);
        BatchRun run = check.Program.CreateRun(8);
        double[] ohms = [0, 1e-3, 0.5, 1, 2, 100, 250, 400];
        ohms.CopyTo(run.Slot(load));
        run.Prepare();
        run.Solve();
        Assert.True(run.AllSettled());
        check.Compare(run, "load");
    }

    [Fact]
    public void Solve_AfterWarmUp_AllocatesNothing()
    {
        Circuit circuit = BatchStages.CurrentSink();
        var check = new BatchCheck(circuit, BatchStages.Slots(circuit));
        BatchRun run = check.Program.CreateRun(16);
        run.Prepare();
        run.Solve();
        long before = GC.GetAllocatedBytesForCurrentThread();
        for (int k = 0; k < 10; k++)
        {
            run.Prepare();
            run.Solve();
            run.SolveSources(BatchStart.Last);
        }

        Assert.Equal(before, GC.GetAllocatedBytesForCurrentThread());
    }

    [Fact]
    public void Create_WithWhatDoesNotFit_SaysSo()
    {
        Circuit circuit = BatchStages.Gain10();
        OperatingPoint point = circuit.Solve();
        Probe[] probes = [Probe.Voltage(circuit.Node("o"), circuit.Node("0"))];
        int slot = circuit.Slot("R1");
        Assert.Throws<ArgumentException>(() => BatchProgram.Create(circuit.Network, point, probes, new BatchSlots { Fixed = [slot], Changing = [slot] }));
        Assert.Throws<ArgumentOutOfRangeException>(() => BatchProgram.Create(circuit.Network, point, probes, new BatchSlots { Fixed = [circuit.Network.SlotCount] }));
        Assert.Throws<ArgumentException>(() => BatchProgram.Create(circuit.Network, BatchStages.Gain10().Solve(), probes, new BatchSlots()));
        BatchProgram program = BatchProgram.Create(circuit.Network, point, probes, new BatchSlots { Fixed = [slot] });
        Assert.Throws<ArgumentOutOfRangeException>(() => program.CreateRun(12));
        Assert.Throws<ArgumentOutOfRangeException>(() => program.CreateRun(0));
        Assert.Throws<ArgumentOutOfRangeException>(() => program.CreateRun().Slot(circuit.Slot("R2"))[0]);
    }

    private static string Checksum()
    {
        ulong hash = 14695981039346656037;
        foreach ((_, Circuit circuit) in BatchStages.All())
        {
            var check = new BatchCheck(circuit, BatchCheck.AllSlots(circuit));
            BatchRun run = check.Program.CreateRun(16);
            check.Fill(run, 0.05, 3);
            run.Prepare();
            run.Solve();
            for (int lane = 0; lane < run.Lanes; lane++)
            {
                for (int probe = 0; run.IsSettled(lane) && probe < check.Program.ReadingCount; probe++)
                    hash = (hash ^ BitConverter.DoubleToUInt64Bits(run.Reading(probe)[lane])) * 1099511628211;
            }
        }

        return $"checksum {hash:X16}";
    }

    private static void AssertSame(BatchCheck check, BatchRun a, BatchRun b, string name)
    {
        for (int lane = 0; lane < a.Lanes; lane++)
        {
            Assert.Equal(a.IsSettled(lane), b.IsSettled(lane));
            for (int probe = 0; a.IsSettled(lane) && probe < check.Program.ReadingCount; probe++)
                Assert.True(BitConverter.DoubleToInt64Bits(a.Reading(probe)[lane]) == BitConverter.DoubleToInt64Bits(b.Reading(probe)[lane]), $"{name}, lane {lane}, probe {probe}");
        }
    }

    private void CompareAll(IEnumerable<(string Name, Circuit Circuit)> circuits, double spread, double mostUnsettled)
    {
        double worst = 0;
        int unsettled = 0;
        int compared = 0;
        int seed = 0;
        foreach ((string name, Circuit circuit) in circuits)
        {
            var check = new BatchCheck(circuit, BatchCheck.AllSlots(circuit));
            BatchRun run = check.Program.CreateRun(16);
            check.Fill(run, spread, seed++);
            run.Prepare();
            run.Solve();
            check.Compare(run, name);
            worst = Math.Max(worst, check.Worst);
            unsettled += check.Count.Unsettled;
            compared += check.Count.Compared;
        }

        output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{compared} lanes, worst {worst:G3}, {unsettled} not settled"));
        Assert.True(unsettled < compared * mostUnsettled, $"{unsettled} of {compared} lanes were not settled");
    }
}
