namespace Throughline.Workbench.Parts;

/// <summary>Whether what is drawn stands on paper, or in a page that is kept: it then has nothing to press, and shows at once what would open.</summary>
internal static class Printed
{
    /// <summary>Under which the parts of a page are told.</summary>
    public const string Name = "IsPrinted";
}
