namespace Throughline.Instruments;

/// <summary>What an instrument file may say, from its top.</summary>
internal static class InstrumentShape
{
    public static readonly MapShape Root = new(
        "instrument",
        "An instrument file: one measuring transmitter, from its sensor to its loop.",
        Key.Required("instrument", Shapes.Text, "Name of the instrument."),
        Key.Optional("revision", Shapes.Text, "Revision."),
        Key.Optional("parts files", new ListShape(new TextShape("a file's name")), "Further parts files, relative to this file and inside its folder. `parts.yaml` beside it is read without being named."),
        Key.Required("specification", SpecificationReader.Shape, "What the instrument has to meet."),
        Key.Required("sensor", SensorKinds.Shape, "The sensor."),
        Key.Optional("supplies", SupplyReader.Shape, "Supplies by name; the name is also the node."),
        Key.Optional("isolation", IsolationReader.Shape, "What the isolation between domains has to be."),
        Key.Optional("networks", NetworkReader.Shape, "Networks or reels of resistors that track, by name."),
        Key.Optional("stages", StageReader.Shape, "The signal chain, in its order."),
        Key.Optional("loop", LoopReader.Shape, "The current loop."),
        Key.Optional("voltage output", VoltageOutputReader.Shape, "The output of an instrument that gives a voltage instead of a current."),
        Key.Optional("calibration", CalibrationReader.Shape, "How the user calibrates."),
        Key.Optional("adjustment", AdjustmentReader.Shape, "The adjustment procedure, in its order."),
        Key.Optional("bench", BenchReader.Shape, "What the bench adjusts with."),
        Key.Optional("spread", SpreadReader.Shape, "How values lie between their limits.", "every value between the limits is equally likely"),
        Key.Optional("cost", CostReader.Shape, "What it may cost in parts."),
        Key.Optional("memory", MemoryReader.Shape, "Settings memory."),
        Key.Optional("panel", PanelReader.Shape, "Display and keys."));
}
