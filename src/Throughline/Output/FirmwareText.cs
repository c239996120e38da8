using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Firmware;
using Throughline.Instruments;
using Throughline.Toolchains;

namespace Throughline.Output;

/// <summary>The integer arithmetic for a person: every number with its word, its range and what rounding has done to it.</summary>
internal static class FirmwareText
{
    private const int Indent = 2;

    public static void Write(Page page, Instrument instrument, FirmwareCode firmware, ImmutableArray<string> written, long? code, ImmutableArray<CompilerResult> built)
    {
        ReviewText.Title(page, instrument);
        if (firmware.Proof is not { } proof)
        {
            page.Line();
            page.Paragraph(0, "", "No arithmetic: " + firmware.Trouble);
            return;
        }

        ArithmeticDesign design = proof.Design;
        string unit = instrument.Specification.Unit;
        page.Line("integer arithmetic from code to measurand and output code", Ink.Quiet);
        page.Line();
        if (code is { } at)
        {
            Trace(page, firmware, at);
        }
        else
        {
            Numbers(page, design.Program);
            if (firmware.Calibration is { Trouble: null } calibration)
            {
                page.Line();
                page.Line("the user's calibration, from what is taken to what is kept", Ink.Quiet);
                page.Line();
                Numbers(page, calibration.Program);
            }

            if (firmware.OutputTrim is { } trim)
            {
                page.Line();
                page.Line("the output's trim, from what the meter shows to what is kept, and from the code that is asked for to the one that is given", Ink.Quiet);
                page.Line();
                Numbers(page, trim.Program);
            }
        }

        page.Line();
        page.Paragraph(0, "", proof.Overflows.IsEmpty
            ? "No code, temperature or accepted calibration makes a number that does not fit its word; no divisor can be zero."
            : firmware.Trouble + " See throughline check.");
        page.Paragraph(
            0, "", $"Rounding adds at most {Value(design.Measurand.Error)} of {Value(design.Allowed)} allowed, {design.AllowedIs}; over the codes at most {Value(Math.Abs(proof.Worst.Error))}, at code {Whole(proof.Worst.Code)}.");
        if (firmware.Calibration is { } user)
        {
            page.Paragraph(0, "", user.IsSound
                ? $"The whole numbers of a calibration move a reading by at most {Value(user.Bound)} of {Value(user.Allowed)} allowed."
                : user.Trouble ?? "The user's calibration is not proved and no code of it is written: see throughline check.");
        }

        if (firmware.OutputTrim is { } trimmed)
        {
            page.Paragraph(0, "", OutputTrimProof.Of(trimmed).IsSound
                ? $"The whole numbers of the output's trim add at most {Engineering.Number(trimmed.Bound, 2)} of a code to the half that any code has, of {Engineering.Number(OutputTrimDesign.Allowed)} allowed."
                : "The output's trim is not proved and no code of it is written: see throughline check.");
        }

        if (code is null && OutputState.Of(instrument) is { IsEmpty: false } states)
        {
            page.Line();
            States(page, instrument.Output, states);
        }

        if (code is null && SettingsLayout.Of(instrument) is { } settings)
        {
            page.Line();
            Settings(page, settings);
        }

        if (!built.IsEmpty)
        {
            page.Line();
            Built(page, built);
        }

        page.Line();
        foreach ((string path, GeneratedFile file) in written.Zip(firmware.Files))
        {
            page.Line("written  " + path);
        }

        if (written.IsEmpty)
        {
            page.Paragraph(0, "", firmware.Trouble is null ? "The C code: throughline firmware FILE --out FOLDER" : "No code is written of an arithmetic that is not proved.", Ink.Quiet);
        }

        string Value(double value) => Engineering.WithUnit(Engineering.Number(value, 2), unit);
    }

    private static void States(Page page, OutputSignal signal, ImmutableArray<OutputState> states)
    {
        Table table = new([new("state", IsNumeric: false), new("code"), new(signal.Place), new("because", IsNumeric: false)]);
        foreach (OutputState state in states)
        {
            table.Add(
                [state.Name, state.Code is { } code ? Whole(code) : "", double.IsNaN(state.Value) ? "" : Engineering.Fixed(state.Value / signal.ShownScale, signal.ShownDecimals + 1, signal.ShownUnit), state.Because]);
        }

        table.Write(page, Indent);
    }

    /// <summary>What stands where in the settings memory, and what its proof has tried.</summary>
    private static void Settings(Page page, SettingsLayout layout)
    {
        page.Line("settings memory", Ink.Quiet);
        page.Line();
        Table table = new([new("address"), new("bytes"), new("record", IsNumeric: false), new("copy"), new("what it is", IsNumeric: false), new("word", IsNumeric: false)]);
        foreach (SettingsRegion region in SettingsMap.Of(layout))
        {
            table.Add([Whole(region.Address), Whole(region.Bytes), region.Record, Whole(region.Copy), region.What, region.Word]);
        }

        table.Write(page, Indent);
        page.Line();
        SettingsProof proof = SettingsProof.Of(layout);
        page.Paragraph(0, "", $"Tried: {Whole(proof.Writes)} writes at which the power fails, {Whole(proof.Cuts)} memories left by that, {Whole(proof.Spoilt)} wrong bytes. "
            + (proof.BadCut is null && proof.Unnoticed is null && proof.BlankAccepted.IsEmpty && layout.Trouble is null ? "Old or new, never a mixture." : "See throughline check."));
    }

    private static void Numbers(Page page, IntegerProgram program)
    {
        Table table = new([new("number", IsNumeric: false), new("word", IsNumeric: false), new("least"), new("greatest"), new("one step"), new("rounding"), new("what it is", IsNumeric: false)]);
        foreach (Node node in program.Nodes)
        {
            table.Add(
            [
                node.Name, node.Word.CType[..^2], Whole(node.Low), Whole(node.High), Engineering.WithUnit(Engineering.Number(node.Step, 3), node.Unit),
                node.Error == 0 ? "" : Engineering.Number(node.Error, 2), node.Remark,
            ]);
        }

        table.Write(page, Indent);
    }

    private static void Built(Page page, ImmutableArray<CompilerResult> built)
    {
        Table table = new([new("compiler", IsNumeric: false), new("for", IsNumeric: false), new("complaints"), new("flash"), new("of it its own routines"), new("RAM"), new("cycles of one value at most"), new("over runs")]);
        foreach (CompilerResult r in built)
        {
            if (r.Absent is not null)
            {
                table.Add([r.Compiler, r.Processor, r.Complaints.IsEmpty ? "" : Whole(r.Complaints.Length), "", "", "", "", ""], r.Absent);
                continue;
            }

            table.Add(
            [
                r.Compiler, r.Processor, Whole(r.Complaints.Length), Whole(r.Flash) + " B", r.Routines is { } own ? Whole(own.Flash) + " B" : "not known", Whole(r.Ram) + " B",
                r.Cycles is { } cycles ? Whole(cycles) : r.NoCycles ?? "", r.Cycles is null ? "" : Whole(r.Runs),
            ]);
        }

        table.Write(page, Indent);
        page.Line();
        page.Paragraph(
            Indent, "", "RAM is what lies there for good, without the stack. The runs are at the corners of what the code accepts, at the ends and in the middle of the codes, and spread over all: the most they took, no proof.",
            Ink.Quiet);
        foreach (CompilerResult r in built)
        {
            foreach (string line in r.Complaints)
            {
                page.Line($"  {r.Compiler}, {r.Processor}: {line}");
            }
        }
    }

    private static void Trace(Page page, FirmwareCode firmware, long code)
    {
        Table table = new([new("number", IsNumeric: false), new("word", IsNumeric: false), new("should be"), new("is"), new("as a value"), new("what it is", IsNumeric: false)]);
        foreach ((Node node, Int128 exact, Int128 inWord) in firmware.Trace(code))
        {
            table.Add(
                [node.Name, node.Word.CType[..^2], Whole(exact), Whole(inWord), Engineering.WithUnit(Engineering.Number((double)inWord * node.Step, 6), node.Unit), node.Remark],
                exact == inWord ? "" : "overflow");
        }

        table.Write(page, Indent);
    }

    private static string Whole(Int128 number) => Engineering.Number((double)number, 15);
}
