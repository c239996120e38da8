using System.Collections.Immutable;
using System.Globalization;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>A constant, table or limit of the generated code that differs between two revisions of an instrument.</summary>
/// <param name="Name">Its name in the code.</param>
/// <param name="Remark">What it is.</param>
/// <param name="Old">As the code writes it, in whole numbers; null when it is new.</param>
/// <param name="New">Null when it is gone.</param>
public sealed record CodeChange(string Name, string Remark, string? Old, string? New)
{
    /// <summary>Everything that differs, in the order of the newer code; what is gone comes last. Names are kept from revision to revision, so that a name that both have is the same thing.</summary>
    public static ImmutableArray<CodeChange> Of(Instrument old, Instrument @new)
    {
        Dictionary<string, (string Text, string Remark)> before = Facts(old);
        Dictionary<string, (string Text, string Remark)> after = Facts(@new);
        return
        [
            .. after.Where(f => !before.TryGetValue(f.Key, out (string Text, string Remark) was) || was.Text != f.Value.Text)
                .Select(f => new CodeChange(f.Key, f.Value.Remark, before.TryGetValue(f.Key, out (string Text, string Remark) was) ? was.Text : null, f.Value.Text)),
            .. before.Where(f => !after.ContainsKey(f.Key)).Select(f => new CodeChange(f.Key, f.Value.Remark, f.Value.Text, null)),
        ];
    }

    private static Dictionary<string, (string Text, string Remark)> Facts(Instrument instrument)
    {
        Dictionary<string, (string Text, string Remark)> facts = new(StringComparer.Ordinal);
        if (ArithmeticDesign.Of(instrument) is not { Trouble: null } design)
        {
            return facts;
        }

        foreach (Node node in design.Program.Nodes.Concat(OutputTrimDesign.Of(instrument)?.Program.Nodes.Select(n => n with { Name = "output_trim_" + n.Name }) ?? []))
        {
            string? text = node.Operation switch
            {
                Operation.Constant => Whole(node.Constant),
                Operation.Sum => Whole(node.Constant) + " readings",
                Operation.Shift => Whole(node.Constant) + " places",
                Operation.Clamp => $"{Whole(node.LowLimit)} to {Whole(node.HighLimit)}",
                Operation.Select => $"{Whole(node.Constant)} outside of {Whole(node.LowLimit)} to {Whole(node.HighLimit)}",
                Operation.Input => $"{Whole(node.Low)} to {Whole(node.High)}",
                Operation.Table => Table(node),
                _ => null,
            };
            if (text is not null)
            {
                facts[node.Name] = (text, node.Remark);
            }
        }

        return facts;
    }

    /// <summary>Length, ends and a sum over the places, so that any number that moves shows.</summary>
    private static string Table(Node node)
    {
        Int128 weighted = 0;
        for (int i = 0; i < node.Values.Length; i++)
        {
            weighted += node.Values[i] * (i + 1);
        }

        return string.Create(CultureInfo.InvariantCulture, $"{node.Values.Length} places, {Whole(node.Values[0])} to {Whole(node.Values[^1])}, sum of place times number {Whole(weighted)}");
    }

    private static string Whole(Int128 value) => value.ToString(CultureInfo.InvariantCulture).Replace('-', '−');
}
