using System.Collections.Immutable;
using System.Globalization;
using Throughline.Analysis;
using Throughline.Firmware;

namespace Throughline.Workbench.Pages;

/// <summary>What breaks a firmware, as texts from which it can be run again.</summary>
internal static class Counterexamples
{
    /// <summary>One text for each; empty when nothing is known to break it.</summary>
    public static ImmutableArray<string> Of(FirmwareContent content)
    {
        ImmutableArray<string>.Builder texts = ImmutableArray.CreateBuilder<string>();
        if (content.Code.Proof is { } proof)
        {
            texts.AddRange(proof.Overflows.Select(o => Of(proof.Design, o)));
            texts.AddRange(proof.ZeroDivisors.Select(d => $"{d.Name} ({d.Remark}) can be 0, and divides"));
            if (proof.FirstBeyond is { } beyond)
            {
                texts.Add(string.Create(
                    CultureInfo.InvariantCulture,
                    $"rounding: code {beyond.Code} should give {Engineering.Number(beyond.Exact, 7)} and is off by {Engineering.Number(beyond.Error, 3)}\n  again: throughline firmware FILE --code {beyond.Code}"));
            }
        }

        if (content is { Settings: { } settings, Proof: { } memory })
        {
            if (memory.BadCut is { } cut)
            {
                texts.Add(string.Create(
                    CultureInfo.InvariantCulture,
                    $"power cut: {Words(cut.Operation)} {settings.Records[cut.Record].Name}, power fails at write {cut.Write + 1}, address {cut.Address} is left at {cut.Torn:X2}\n  memory before:{Hex(cut.Before)}\n  values before: {Join(cut.Old)}\n  values saved:  {Join(cut.New)}\n  found after:   {Join(cut.Found)} ({Of(cut.State)})"));
            }

            if (memory.Unnoticed is { } spoilt)
            {
                texts.Add(string.Create(
                    CultureInfo.InvariantCulture,
                    $"wrong byte: {settings.Records[spoilt.Record].Name}, address {spoilt.Address} holds {spoilt.Value:X2} instead of {spoilt.Before[spoilt.Address]:X2}\n  memory before:{Hex(spoilt.Before)}\n  values saved:  {Join(spoilt.Saved)}\n  found after:   {Join(spoilt.Found)}"));
            }

            texts.AddRange(memory.BlankAccepted.Select(b => string.Create(
                CultureInfo.InvariantCulture, $"never-written memory: every byte {b.Blank:X2} is taken for settings: {b.Item.Name} of {b.Record.Name} is {b.Stored}")));
        }

        return texts.ToImmutable();
    }

    private static string Of(ArithmeticDesign design, Overflow overflow)
    {
        string text = string.Create(CultureInfo.InvariantCulture, $"overflow: {overflow.Node.Name} takes {overflow.Node.BitsNeeded} of {overflow.Node.Word.Bits} bits");
        if (overflow.First is not { } first)
        {
            return text + "; only its range says so";
        }

        ArithmeticInputs at = first.Inputs;
        string others = string.Concat(new[] { (design.Temperature, at.Temperature), (design.Zero, at.Zero), (design.Gain, at.Gain) }
            .Where(p => p.Item1 is not null)
            .Select(p => string.Create(CultureInfo.InvariantCulture, $", {p.Item1!.Name} {p.Item2}")));
        text += string.Create(CultureInfo.InvariantCulture, $"\n  with code {at.Code}{others}: {first.Exact} becomes {first.InWord}");
        return at == design.Nominal(at.Code) ? text + string.Create(CultureInfo.InvariantCulture, $"\n  again: throughline firmware FILE --code {at.Code}") : text;
    }

    private static string Words(SettingsOperation operation) => operation switch
    {
        SettingsOperation.Save => "saving",
        SettingsOperation.FirstSave => "saving into never-written memory",
        SettingsOperation.Restore => "restoring",
        SettingsOperation.Repair => "repairing",
        _ => "taking over the older layout of",
    };

    private static string Of(SettingsState state) => state == SettingsState.Factory ? "factory values" : "taken for settings";

    private static string Join(ImmutableArray<long> values) => string.Join(", ", values.Select(v => v.ToString(CultureInfo.InvariantCulture)));

    /// <summary>Sixteen bytes in a line, with the address of the first.</summary>
    private static string Hex(ImmutableArray<byte> bytes) => string.Concat(bytes.Chunk(16).Select((row, i) =>
        string.Create(CultureInfo.InvariantCulture, $"\n    {i * 16:X4}  {string.Join(' ', row.Select(b => b.ToString("X2", CultureInfo.InvariantCulture)))}")));
}
