using System.Numerics;
using Xunit;

namespace Throughline.Circuits.Tests;

/// <content>Group H: shunt regulation, a reference that feeds itself, filtering.</content>
internal static partial class ExampleNetworks
{
    private static void AddSupplies(Dictionary<string, Func<AnswerRow, double>> networks)
    {
        networks["H7: self-regulated reference line"] = _ => SelfRegulatedLine();
        networks["H7: load"] = _ => SelfRegulatedLoad();
        networks["H7: zener Rs max"] = _ => (10 - ShuntZener(1, 0, 0).Set("IZ", 2.5e-3).Voltage("z")) / 12.5e-3;
        networks["H7: zener line regulation Rs=270"] = _ => (ShuntZener(270, 20, 0).Voltage("o") - ShuntZener(270, 10, 0).Voltage("o")) / 10 / 6.5 * 100;
        networks["H7: zener load regulation Rs=270"] = _ => (ShuntZener(270, 15, 10e-3).Voltage("o") - ShuntZener(270, 15, 0).Voltage("o")) / 10 / 6.5 * 100;
        networks["H8: RC supply filter 100 ohm 100 uF at 100 Hz"] = _ => SupplyFilter();
        networks["H8: droop of 100 nF, 10 mA 1 us"] = _ => Droop();
    }

    /// <summary>6.8 V behind 10 Ω, fed through a resistor; beside it the same alone with a current through it.</summary>
    private static Circuit ShuntZener(double feed, double volts, double load) => new Circuit()
        .Add("V", "VI", ["i", "0"], volts).Add("R", "RS", ["i", "o"], feed).Add("R", "RZ", ["o", "k"], 10).Add("V", "VZ", ["k", "0"], 6.8)
        .Add("I", "IL", ["o", "0"], load).Add("I", "IZ", ["0", "z"], 0).Add("R", "RY", ["z", "y"], 10).Add("V", "VY", ["y", "0"], 6.8);

    /// <summary>A reference of 6.2 V times 1 + 24/39, amplifier of 33 333 supply and 90 dB common-mode rejection, whose supply moves by 1 V; parts per million of 10 V.</summary>
    private static double SelfRegulatedLine()
    {
        Circuit circuit = SelfRegulated().Set("U1", -Math.Pow(10, -4.5), (int)OpAmpSlot.CommonModeError).Set("U1", 3e-5, (int)OpAmpSlot.SupplyError)
            .Set("U1", 15, (int)OpAmpSlot.NominalSupply);

        // The book adds both in size: the common-mode error acts against the middle of the supplies, which moves by half.
        return (circuit.Set("VP", 16).Voltage("o") - circuit.Set("VP", 15).Voltage("o")) / 10 * 1e6;
    }

    private static double SelfRegulatedLoad()
    {
        Circuit circuit = SelfRegulated().Set("U1", 2e5, (int)OpAmpSlot.Gain).Set("U1", 75, (int)OpAmpSlot.OutputResistance);
        return (circuit.Set("IL", 0.1).Voltage("o") - circuit.Set("IL", 0).Voltage("o")) / 100 / 10 * 1e6;
    }

    private static Circuit SelfRegulated() => new Circuit()
        .Add("V", "VP", ["p", "0"], 15).Add("V", "VZ", ["z", "0"], 6.2).Add("R", "R1", ["f", "0"], 39e3).Add("R", "R2", ["o", "f"], 24e3)
        .Add("I", "IL", ["o", "0"], 0).Add("OPAMP", "U1", ["z", "f", "o", "p", "0"]);

    private static double SupplyFilter()
    {
        Circuit circuit = new Circuit().Add("V", "VI", ["i", "0"], 5).Add("R", "R1", ["i", "o"], 100).Add("C", "C1", ["o", "0"], 100e-6);
        circuit.Solve();
        SmallSignal signal = circuit.Solver.TryLinearise()!;
        return 20 * Math.Log10(Complex.Abs(signal.Transfer(circuit.Slot("VI"), Probe.Voltage(circuit.Node("o"), circuit.Node("0")), 100)));
    }

    /// <summary>What a capacitor without a supply behind it loses.</summary>
    private static double Droop()
    {
        Circuit circuit = new Circuit().Add("R", "R1", ["o", "0"], 1e9).Add("C", "C1", ["o", "0"], 100e-9).Add("I", "IL", ["o", "0"], 0);
        Transient transient = circuit.Solver.CreateStartUp(circuit.Values);
        transient.Drive(circuit.Slot("IL"), Waveform.Step(0, 10e-3, 1e-6));
        Assert.True(transient.AdvanceTo(2e-6), transient.Trouble);
        return -transient.Point.Voltage(circuit.Node("o"), circuit.Node("0"));
    }
}
