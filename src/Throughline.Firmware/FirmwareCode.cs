using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>What <c>firmware</c> gives of an instrument: its arithmetic with the proofs, and the code.</summary>
/// <param name="Trouble">Why no code is written; null when it is.</param>
/// <param name="Files">The code, empty with a trouble.</param>
public sealed record FirmwareCode(ArithmeticDesign? Design, ArithmeticProof? Proof, string? Trouble, ImmutableArray<GeneratedFile> Files)
{
    /// <summary>The user's calibration in whole numbers; null where the user does not calibrate or no arithmetic is known.</summary>
    public CalibrationDesign? Calibration { get; } = Design is { Trouble: null } ? CalibrationDesign.Of(Design.Law.Instrument) : null;

    /// <summary>The trim of the output in whole numbers; null where it is not trimmed or no arithmetic is known.</summary>
    public OutputTrimDesign? OutputTrim { get; } = Design is { Trouble: null } ? OutputTrimDesign.Of(Design.Law.Instrument) : null;

    public static FirmwareCode Of(Instrument instrument)
    {
        if (ArithmeticDesign.Of(instrument) is not { } design)
        {
            return new FirmwareCode(null, null, "The instrument has no converter or no arithmetic.", []);
        }

        if (design.Trouble is not null)
        {
            return new FirmwareCode(design, null, design.Trouble, []);
        }

        ArithmeticProof proof = ArithmeticProof.Of(design);
        string? trouble = !proof.Overflows.IsEmpty ? $"{proof.Overflows[0].Node.Name} does not fit its word."
            : !proof.ZeroDivisors.IsEmpty ? $"{proof.ZeroDivisors[0].Name} can be zero and divides." : null;
        return new FirmwareCode(design, proof, trouble, trouble is null ? [.. ArithmeticCode.Write(design), .. CalibrationFiles(instrument), .. OutputTrimFiles(instrument), .. SettingsFiles(instrument), .. PanelFiles(instrument)] : []);
    }

    private static ImmutableArray<GeneratedFile> CalibrationFiles(Instrument instrument) =>
        CalibrationDesign.Of(instrument) is { IsSound: true } calibration ? CalibrationCode.Write(calibration) : [];

    private static ImmutableArray<GeneratedFile> OutputTrimFiles(Instrument instrument) =>
        OutputTrimDesign.Of(instrument) is { } trim && OutputTrimProof.Of(trim).IsSound ? OutputTrimCode.Write(trim) : [];

    private static ImmutableArray<GeneratedFile> SettingsFiles(Instrument instrument) =>
        SettingsLayout.Of(instrument) is { Trouble: null } settings
            ? [.. SettingsCode.Write(settings), new GeneratedFile("settings.svg", SettingsPicture.Write(settings), "the map of the settings memory")]
            : [];

    /// <summary>The panel, and what puts everything together: where the instrument has one, and all that it calls.</summary>
    private static ImmutableArray<GeneratedFile> PanelFiles(Instrument instrument) =>
        PanelProgram.Of(instrument) is { IsCodeKnown: true } program ? [.. PanelCode.Write(program), .. InstrumentCode.Write(program)] : [];

    /// <summary>Every number of a run in words at a code of the nominal unit; empty where something is divided by zero.</summary>
    public ImmutableArray<(Node Node, Int128 Exact, Int128 InWord)> Trace(long code)
    {
        Int128[] exact = new Int128[Design!.Program.Nodes.Count];
        Int128[] inWords = new Int128[exact.Length];
        ArithmeticInputs inputs = Design.Nominal(code);
        return Design.Run(inputs, exact, inWords: false) && Design.Run(inputs, inWords, inWords: true)
            ? [.. Design.Program.Nodes.Select(n => (n, exact[n.Index], inWords[n.Index]))]
            : [];
    }
}
